namespace Hindbeat.KitMaker;

/// <summary>The recorded files are cut while cymbals still ring; a fade makes the cut inaudible.</summary>
internal static class Tail
{
    /// <summary>Fades the last seconds to nothing along half a cosine.</summary>
    public static short[] Fade(double[] samples, double seconds)
    {
        int length = Math.Min((int)(seconds * FlacFile.SampleRate), samples.Length);
        int start = samples.Length - length;
        var result = new short[samples.Length];
        for (int i = 0; i < samples.Length; i++)
        {
            double gain = i < start ? 1 : 0.5 + (0.5 * Math.Cos(Math.PI * (i - start + 1) / length));
            result[i] = (short)Math.Clamp(Math.Round(samples[i] * gain), short.MinValue, short.MaxValue);
        }

        return result;
    }
}
