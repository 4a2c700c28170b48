using Hindbeat.Performances;
using Hindbeat.Sound;

namespace Hindbeat.Listening;

/// <summary>A drum that sounds on where a hat is timed.</summary>
/// <param name="Sample">Sample of the recording at which it was struck.</param>
/// <param name="Before">Samples by which the network has it before the hat.</param>
/// <param name="Power">Mean power of that drum in the hat's three bands, every <see cref="DrumTails.Step"/> samples from its onset on, to any scale; null where the recording has not shown it.</param>
internal readonly record struct DrumTail(double Sample, double Before, float[][]? Power)
{
    /// <summary>By how much hats that no drum is near are moved from the network's time, samples.</summary>
    public double Usual { get; init; }
}

/// <summary>How each drum of this recording hisses on in the bands where hats are timed: the mean of strokes that nothing follows.</summary>
/// <remarks>
/// Powers, not waveforms: hiss is noise, and no two strokes' noise is alike. Every stroke counts as 1, however loud. docs/decisions/listening-times.md holds the measurements.
/// </remarks>
internal static class DrumTails
{
    private const int Rate = StrokeView.Rate;

    /// <summary>Half a millisecond.</summary>
    public const int Step = (int)(0.0005 * Rate);

    /// <summary>A drum is heard in a hat's band for at least this long, 60 ms; a tail is learned for a little longer.</summary>
    public const double Longest = 0.060 * Rate;

    private const int Length = (int)(0.070 * Rate);
    private const int Steps = Length / Step;

    /// <summary>Lone strokes: nothing within 25 ms before and 80 ms after.</summary>
    private const double AloneBefore = 0.025 * Rate;
    private const double AloneAfter = 0.080 * Rate;

    private const int Least = 4;
    private const int Most = 48;
    private const double CertainEnough = 0.6;

    /// <summary>The filters come to rest in this time.</summary>
    private const int WarmUp = (int)(0.025 * Rate);

    /// <param name="strokes">In order of time.</param>
    /// <param name="onsets">Sample of the recording of each drum among them.</param>
    public static Dictionary<KitPiece, float[][]> Learn(MonoSound sound, IReadOnlyList<CurveStroke> strokes, Func<int, double> onsets, double metalHertz, CancellationToken cancel)
    {
        BandBank bank = StrokeBands.Of(PieceFamily.Hat).Filters(metalHertz);
        float[] samples = new float[WarmUp + Length];
        float[][] bands = [.. Enumerable.Range(0, BandBank.Count).Select(_ => new float[Length])];
        double[] energy = new double[(Length + 1) * BandBank.Count];
        Dictionary<KitPiece, float[][]> tails = [];
        foreach (IGrouping<KitPiece, int> piece in Enumerable.Range(0, strokes.Count).Where(i => IsDrum(strokes[i]) && IsAlone(strokes, i)).GroupBy(i => strokes[i].Piece))
        {
            int[] alone = [.. piece];
            int count = Math.Min(alone.Length, Most);
            if (count < Least)
                continue;
            double[][] sums = [.. Enumerable.Range(0, 3).Select(_ => new double[Steps])];
            for (int k = 0; k < count; k++)
            {
                cancel.ThrowIfCancellationRequested();
                sound.Read((long)Math.Round(onsets(alone[(int)((long)k * alone.Length / count)])) - WarmUp, samples);
                bank.Run(samples, WarmUp, bands[0], bands[1], bands[2], bands[3], energy);
                for (int band = 0; band < 3; band++)
                    Add(energy, band, sums[band]);
            }

            tails[piece.Key] = [.. sums.Select(Smooth)];
        }

        return tails;
    }

    public static bool IsDrum(CurveStroke stroke) => stroke.Family is PieceFamily.Kick or PieceFamily.Snare or PieceFamily.Tom;

    private static void Add(double[] energy, int band, double[] sums)
    {
        double all = energy[(Length * BandBank.Count) + band] + 1e-20;
        for (int j = 0; j < Steps; j++)
            sums[j] += (energy[((j + 1) * Step * BandBank.Count) + band] - energy[(j * Step * BandBank.Count) + band]) / all;
    }

    /// <summary>Over 0.5 ms at the attack, up to 4.5 ms later, where the tail falls slowly.</summary>
    private static float[] Smooth(double[] sums)
    {
        const int Widest = 4;
        float[] smooth = new float[Steps];
        for (int j = 0; j < Steps; j++)
        {
            int around = Math.Min(Widest, j / 6);
            int from = j - around;
            int to = Math.Min(Steps - 1, j + around);
            double sum = 0;
            for (int k = from; k <= to; k++)
                sum += sums[k];
            smooth[j] = (float)((sum / (to - from + 1)) + 1e-12);
        }

        return smooth;
    }

    private static bool IsAlone(IReadOnlyList<CurveStroke> strokes, int index) =>
        strokes[index].Certainty > CertainEnough
        && (index == 0 || strokes[index].Sample - strokes[index - 1].Sample > AloneBefore)
        && (index == strokes.Count - 1 || strokes[index + 1].Sample - strokes[index].Sample > AloneAfter);
}
