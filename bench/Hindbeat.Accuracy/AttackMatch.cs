using Hindbeat.Sound;

namespace Hindbeat.Accuracy;

/// <summary>
/// Finds one attack again in a stretched sound by its own waveform, to the sample, and compares how both rise.
/// </summary>
/// <remarks>
/// What is matched belongs to this attack alone: from 0.5 ms before its known onset (less after a near stroke: a
/// tenth of the gap) to near the next known onset in either sound, at most 12 ms. (An earlier form took 20 ms whatever came in them: where a kick followed a hat by 18 ms it found the kick,
/// moved away as it should be, and called the hat late.) The match is the greatest normalised correlation within
/// ±15 ms of the scaled onset. The rise is from 10 to 90 % of the greatest value of the amplitude smoothed over 1 ms, in
/// 30 ms or to near the next onset in either sound, whichever is less: the same stretch of time in both. An attack that
/// grows until the next one begins has no rise to be measured.
/// </remarks>
internal static class AttackMatch
{
    private const int Rate = MonoSound.AnalysisRate;
    private const double LongestLead = 0.0005;
    private const int LongestMatch = (int)(0.012 * Rate);
    private const int Far = (int)(0.015 * Rate);
    private const int LongestRise = (int)(0.030 * Rate);

    /// <summary>The last of a gap may hold the next attack's foot.</summary>
    private const double ShareOfGap = 0.85;

    /// <summary>A rise needs room: shorter gaps hold no 90 %.</summary>
    private const int ShortestRise = (int)(0.004 * Rate);

    /// <param name="Late">Found moment less scaled onset, seconds.</param>
    /// <param name="Likeness">The correlation there, at most 1.</param>
    /// <param name="Rise">Share by which its rise is longer than the original's; NaN where the next stroke leaves no room to see it.</param>
    public readonly record struct Found(double Late, double Likeness, double Rise);

    /// <param name="onset">Seconds in the original.</param>
    /// <param name="earlier">The onset before, seconds; negative infinity before the first.</param>
    /// <param name="next">The next onset, seconds; infinity after the last.</param>
    public static Found Of(float[] original, float[] stretched, double onset, double earlier, double next, double speed)
    {
        int lead = (int)(Math.Min(LongestLead, (onset - earlier) / 10) * Rate);
        int from = (int)Math.Round(onset * Rate);
        double scaled = onset / speed * Rate;
        int room = (int)Math.Min(int.MaxValue / 2, ShareOfGap * Rate * Math.Min(next - onset, (next - onset) / speed));
        int length = lead + Math.Min(LongestMatch, room);
        int to = (int)Math.Round(scaled);
        (int lag, double likeness) = Best(original, from - lead, stretched, to - lead, length);
        bool isCut = room < LongestRise;
        room = Math.Min(LongestRise, room);
        (int top, double before) = Rise(original, from, room);
        double rise = room < ShortestRise || (isCut && top >= ShareOfGap * room)
            ? double.NaN
            : (Rise(stretched, to + lag, room).Samples - before) / before;

        // The copy starts on a whole sample, the truth between two: both roundings count as error.
        return new Found((to + lag - scaled - (from - (onset * Rate))) / Rate, likeness, rise);
    }

    private static (int Lag, double Likeness) Best(float[] a, int from, float[] b, int to, int length)
    {
        double aa = 1e-12;
        for (int i = 0; i < length; i++)
            aa += At(a, from + i) * (double)At(a, from + i);
        (int Lag, double Likeness) best = (0, double.NegativeInfinity);
        for (int lag = -Far; lag <= Far; lag++)
        {
            double ab = 0, bb = 1e-12;
            for (int i = 0; i < length; i++)
            {
                double y = At(b, to + lag + i);
                ab += At(a, from + i) * y;
                bb += y * y;
            }

            double likeness = ab / Math.Sqrt(aa * bb);
            if (likeness > best.Likeness)
                best = (lag, likeness);
        }

        return best;
    }

    /// <summary>Samples from 10 to 90 % of the envelope's largest value, counted back from it.</summary>
    private static (int Top, double Samples) Rise(float[] sound, int onset, int room)
    {
        const int smooth = Rate / 1000;
        if (room < ShortestRise)
            return (0, double.NaN);
        var envelope = new double[room];
        for (int i = 0; i < room; i++)
        {
            for (int k = 0; k < smooth; k++)
                envelope[i] += Math.Abs(At(sound, onset + i - k));
        }

        int top = Array.IndexOf(envelope, envelope.Max());
        int high = top;
        while (high > 0 && envelope[high] > 0.9 * envelope[top])
            high--;
        int low = high;
        while (low > 0 && envelope[low] > 0.1 * envelope[top])
            low--;
        return (top, high - low + 1);
    }

    private static float At(float[] sound, int place) => place >= 0 && place < sound.Length ? sound[place] : 0;
}
