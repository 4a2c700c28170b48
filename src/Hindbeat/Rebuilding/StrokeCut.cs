using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>
/// One stroke of a passage as a candidate for the passage's own kit: how long it sounds alone, what else
/// sounds with it, and how far it stands above what rang before it.
/// </summary>
/// <param name="Number">Number among the performance's hits, from 0.</param>
/// <param name="At">Onset, fractional sample of the passage's sound.</param>
/// <param name="Length">Samples from the onset until the next stroke of any piece.</param>
/// <param name="Company">Strokes of other pieces at the same time.</param>
/// <param name="AboveRingingDb">Power of its first 30 ms over the 10 ms before it.</param>
internal sealed record StrokeCut(int Number, Hit Hit, double At, int Length, IReadOnlyList<Hit> Company, double AboveRingingDb)
{
    /// <summary>Strokes nearer than this belong to one moment: the second starts inside the first one's attack.</summary>
    private const double TogetherSeconds = 0.025;

    /// <summary>Fade before the next stroke begins, since a heard onset may lie a few milliseconds late.</summary>
    private const double GuardSeconds = 0.004;

    public bool Alone => Company.Count == 0;

    /// <summary>What makes a stroke a good sample; higher is better, about 0 to 3.3.</summary>
    public double Cleanness(int sampleRate) =>
        Math.Sqrt(Math.Min(1, Length / (LongestSeconds(Hit.Piece) * sampleRate)))
        + (Alone ? 1 : 0)
        + Math.Clamp(AboveRingingDb / 40, 0, 1)
        + (0.3 * Hit.Confidence);

    /// <summary>How long a stroke of a piece is kept at most (our choice, no source).</summary>
    public static double LongestSeconds(KitPiece piece) => piece.Family() switch
    {
        PieceFamily.Cymbal => 2,
        PieceFamily.Tom => 1,
        PieceFamily.Hat => piece == KitPiece.HatOpen ? 1.2 : 0.35,
        _ => 0.5,
    };

    /// <param name="sound">Both channels' mean.</param>
    /// <param name="start">The moment of the sound's first sample.</param>
    public static List<StrokeCut> Of(IReadOnlyList<Hit> hits, float[] sound, int sampleRate, AudioTime start)
    {
        var cuts = new List<StrokeCut>();
        for (int i = 0; i < hits.Count; i++)
        {
            double at = (hits[i].Time - start).Value * sampleRate;
            if (at < 0 || at >= sound.Length - 1)
                continue;
            double time = hits[i].Time.TotalSeconds;
            int next = i + 1;
            while (next < hits.Count && hits[next].Time.TotalSeconds - time <= TogetherSeconds)
                next++;
            double until = next < hits.Count ? (hits[next].Time.TotalSeconds - time - GuardSeconds) * sampleRate : sound.Length - at - 1;
            int length = (int)Math.Min(Math.Min(until, sound.Length - at - 1), LongestSeconds(hits[i].Piece) * sampleRate);
            Hit[] company = [.. hits.Where((other, j) => j != i && Math.Abs(other.Time.TotalSeconds - time) <= TogetherSeconds)];
            cuts.Add(new StrokeCut(i, hits[i], at, length, company, AboveRinging(sound, (int)at, sampleRate)));
        }

        return cuts;
    }

    private static double AboveRinging(float[] sound, int at, int sampleRate)
    {
        double before = Power(sound, at - (int)(0.014 * sampleRate), at - (int)(0.004 * sampleRate));
        double after = Power(sound, at, at + (int)(0.030 * sampleRate));
        return 10 * Math.Log10((after + 1e-12) / (before + 1e-12));
    }

    private static double Power(float[] sound, int from, int to)
    {
        double sum = 0;
        from = Math.Max(0, from);
        to = Math.Min(sound.Length, to);
        for (int i = from; i < to; i++)
            sum += sound[i] * sound[i];
        return to > from ? sum / (to - from) : 0;
    }
}
