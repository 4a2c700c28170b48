using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Listening;

/// <summary>What was struck together with a stroke, and so is in its sound.</summary>
internal static class Company
{
    /// <summary>Struck nearer than this, two strokes are heard as one sound.</summary>
    public static readonly Seconds Together = Seconds.FromMilliseconds(25);

    /// <param name="hits">Sorted by time.</param>
    /// <param name="counts">Which families are company.</param>
    public static bool Has(IReadOnlyList<Hit> hits, int stroke, Func<PieceFamily, bool> counts) => Has(hits, stroke, -1, counts) || Has(hits, stroke, 1, counts);

    private static bool Has(IReadOnlyList<Hit> hits, int stroke, int step, Func<PieceFamily, bool> counts)
    {
        for (int other = stroke + step; other >= 0 && other < hits.Count && (hits[other].Time - hits[stroke].Time).Abs() <= Together; other += step)
        {
            if (counts(hits[other].Piece.Family()))
                return true;
        }

        return false;
    }
}
