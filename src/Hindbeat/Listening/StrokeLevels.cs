using Hindbeat.Performances;

namespace Hindbeat.Listening;

/// <summary>Turns levels into velocities where nothing better is known, and marks ghosts and accents.</summary>
internal static class StrokeLevels
{
    /// <summary>Velocity of a piece's loud strokes (the 95th percentile); the rest of the way to 127 is for louder ones.</summary>
    private const double LoudVelocity = 112;

    /// <summary>Level falls by 40 dB for a tenth of the velocity, as the square law of most sound modules has it (common practice, no source).</summary>
    public const double DecibelsPerDecade = 40;

    /// <summary>A ghost lies at least this much under the snare's loud strokes (common practice, no source).</summary>
    private const double GhostBelow = 11;

    /// <summary>An accent lies at least this much over the piece's median.</summary>
    private const double AccentAbove = 4.5;

    /// <summary>Below this many strokes nothing is usual, so nothing is an accent.</summary>
    private const int LeastForAccent = 8;

    /// <summary>Velocities from the levels alone, each piece's loud strokes at <see cref="LoudVelocity"/>, and marks.</summary>
    public static Hit[] Grade(IReadOnlyList<Hit> hits)
    {
        Hit[] graded = [.. hits];
        foreach (IGrouping<KitPiece, int> group in Enumerable.Range(0, hits.Count).GroupBy(i => hits[i].Piece))
        {
            double loud = Quantile([.. group.Select(i => hits[i].Level.Dbfs).Order()], 0.95);
            foreach (int i in group)
                graded[i] = hits[i] with { Velocity = Math.Clamp((int)Math.Round(LoudVelocity * Math.Pow(10, (hits[i].Level.Dbfs - loud) / DecibelsPerDecade)), 1, 127) };
        }

        return Mark(graded);
    }

    /// <summary>Ghosts and accents, by level.</summary>
    public static Hit[] Mark(IReadOnlyList<Hit> hits)
    {
        Hit[] marked = [.. hits];
        foreach (IGrouping<KitPiece, int> group in Enumerable.Range(0, hits.Count).GroupBy(i => hits[i].Piece))
        {
            double[] levels = [.. group.Select(i => hits[i].Level.Dbfs).Order()];
            double median = Quantile(levels, 0.5);
            foreach (int i in group)
            {
                double level = hits[i].Level.Dbfs;
                HitMarks marks = hits[i].Marks;
                if (group.Key == KitPiece.Snare && level <= Quantile(levels, 0.8) - GhostBelow)
                    marks |= HitMarks.Ghost;
                else if (levels.Length >= LeastForAccent && level >= median + AccentAbove && Accentable(group.Key, level, levels))
                    marks |= HitMarks.Accent;
                marked[i] = hits[i] with { Marks = marks };
            }
        }

        return marked;
    }

    /// <summary>A backbeat among ghosts is a plain stroke: a snare's accent must stand out from its loud strokes.</summary>
    private static bool Accentable(KitPiece piece, double level, double[] levels) =>
        piece != KitPiece.Snare || level >= Quantile(levels, 0.75) + AccentAbove;

    private static double Quantile(double[] sorted, double share) => sorted[(int)Math.Round(share * (sorted.Length - 1))];
}
