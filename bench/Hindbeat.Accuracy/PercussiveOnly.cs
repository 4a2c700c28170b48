using Hindbeat.Sound;

namespace Hindbeat.Accuracy;

/// <summary>
/// What of a sound is short rather than held: the percussive half of a spectrogram parted by medians, along time for what is held and along
/// frequency for what is struck (D. FitzGerald, Harmonic/percussive separation using median filtering, DAFx 2010; soft masks with the power 2
/// and 17 values a median as there, windows of 2,048 at a quarter's hop instead of 4,096). Tries whether a listener hears more
/// without the music; the engine does not use it.
/// </summary>
internal static class PercussiveOnly
{
    private const int Window = 2048;
    private const int Hop = Window / 4;
    private const int Around = 8; // on either side: medians of 17

    /// <param name="sound">Mono samples; replaced.</param>
    public static void Keep(float[] sound)
    {
        int bins = (Window / 2) + 1, frames = (sound.Length + Window) / Hop;
        float[] taper = [.. Enumerable.Range(0, Window).Select(i => (float)(0.5 - (0.5 * Math.Cos(2 * Math.PI * i / Window))))];
        var spectra = new (float[] Re, float[] Im)[frames];
        var sizes = new float[frames][];
        var fft = new ComplexFft(Window);
        for (int frame = 0; frame < frames; frame++)
        {
            float[] re = new float[Window], im = new float[Window];
            int first = (frame * Hop) - Window + Hop;
            for (int i = Math.Max(0, -first); i < Window && first + i < sound.Length; i++)
                re[i] = taper[i] * sound[first + i];
            fft.Transform(re, im);
            spectra[frame] = (re, im);
            sizes[frame] = [.. Enumerable.Range(0, bins).Select(bin => MathF.Sqrt((re[bin] * re[bin]) + (im[bin] * im[bin])))];
        }

        // Hann twice, at a quarter's hop, sums to 1.5.
        Array.Clear(sound);
        float[] near = new float[(2 * Around) + 1];
        for (int frame = 0; frame < frames; frame++)
        {
            (float[] re, float[] im) = ((float[])spectra[frame].Re.Clone(), (float[])spectra[frame].Im.Clone());
            for (int bin = 0; bin < bins; bin++)
            {
                float held = Median(near, around => sizes[Math.Clamp(frame + around, 0, frames - 1)][bin]);
                float struck = Median(near, around => sizes[frame][Math.Clamp(bin + around, 0, bins - 1)]);
                float share = struck * struck / Math.Max(1e-20f, (struck * struck) + (held * held));
                (re[bin], im[bin]) = (share * re[bin], share * im[bin]);
                if (bin is > 0 and < Window / 2)
                    (re[Window - bin], im[Window - bin]) = (re[bin], -im[bin]);
            }

            fft.Transform(im, re); // The inverse: parts exchanged, Window times as large.
            int first = (frame * Hop) - Window + Hop;
            for (int i = Math.Max(0, -first); i < Window && first + i < sound.Length; i++)
                sound[first + i] += taper[i] * re[i] / (1.5f * Window);
        }
    }

    private static float Median(float[] near, Func<int, float> at)
    {
        for (int i = 0; i < near.Length; i++)
            near[i] = at(i - Around);
        Array.Sort(near);
        return near[Around];
    }
}
