using Hindbeat.Sound;

namespace Hindbeat.Accuracy;

/// <summary>
/// How unlike do two sounds of one stroke sound? Root mean square, in dB, of the difference of their levels in
/// third-octave bands from 50 Hz to 16 kHz, over frames of 23 ms each 6 ms through the stroke's first 100 ms.
/// </summary>
/// <remarks>
/// Log-spectral distance (A. Gray, J. Markel, "Distance measures for speech processing", IEEE Trans. ASSP 24(5),
/// 1976); where we differ: third-octave bands instead of single bins, since a drum's fine spectrum is noise that
/// no two strokes share, and levels more than 60 dB under the original's loudest band count as that floor.
/// </remarks>
internal static class SpectralDistance
{
    private const int Frame = 1024;
    private const int Hop = 256;
    private const double Seconds = 0.100;
    private const double FloorDb = -60;

    private static readonly double[] Edges = [.. Enumerable.Range(0, 27).Select(i => 44.7 * Math.Pow(2, i / 3.0)).Where(f => f <= 18000)];

    /// <param name="original">Mono at 44.1 kHz.</param>
    /// <param name="rebuilt">The same, brought to the same level.</param>
    public static double Of(float[] original, float[] rebuilt, double time)
    {
        int start = (int)(time * MonoSound.AnalysisRate) - (Frame / 4);
        double[][] a = Levels(original, start);
        double[][] b = Levels(rebuilt, start);
        double floor = a.Max(frame => frame.Max()) + FloorDb;
        double sum = 0;
        int count = 0;
        for (int frame = 0; frame < a.Length; frame++)
        {
            for (int band = 0; band < a[frame].Length; band++)
            {
                double difference = Math.Max(floor, a[frame][band]) - Math.Max(floor, b[frame][band]);
                sum += difference * difference;
                count++;
            }
        }

        return Math.Sqrt(sum / count);
    }

    private static double[][] Levels(float[] sound, int start)
    {
        var transform = new ComplexFft(Frame);
        var re = new float[Frame];
        var im = new float[Frame];
        int frames = (int)(Seconds * MonoSound.AnalysisRate / Hop);
        var levels = new double[frames][];
        for (int frame = 0; frame < frames; frame++)
        {
            for (int i = 0; i < Frame; i++)
            {
                int place = start + (frame * Hop) + i;
                re[i] = place >= 0 && place < sound.Length ? sound[place] * (float)(0.5 - (0.5 * Math.Cos(2 * Math.PI * i / Frame))) : 0;
            }

            Array.Clear(im);
            transform.Transform(re, im);
            levels[frame] = new double[Edges.Length - 1];
            for (int band = 0; band + 1 < Edges.Length; band++)
            {
                // Low bands are narrower than a bin: they take the nearest one.
                int from = (int)Math.Round(Edges[band] * Frame / MonoSound.AnalysisRate);
                int to = Math.Max(from + 1, (int)Math.Round(Edges[band + 1] * Frame / MonoSound.AnalysisRate));
                double power = 0;
                for (int k = from; k < to && k <= Frame / 2; k++)
                    power += ((double)re[k] * re[k]) + ((double)im[k] * im[k]);
                levels[frame][band] = 10 * Math.Log10((power / (to - from)) + 1e-9);
            }
        }

        return levels;
    }
}
