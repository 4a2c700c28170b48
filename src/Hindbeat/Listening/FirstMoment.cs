using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Listening;

/// <summary>What counts as a stroke at the first moment of a recording, where all sound begins: loops are cut on a stroke, other recordings amid what rings on.</summary>
/// <remarks>
/// A stroke counts there when it is about as loud as its piece's other strokes; what only rings on is softer. docs/decisions/listening-first-moment.md has the measurements.
/// </remarks>
internal static class FirstMoment
{
    /// <summary>Strokes nearer than this to the recording's beginning may be the beginning itself.</summary>
    private static readonly Seconds Within = Seconds.FromMilliseconds(15);

    /// <summary>Such a stroke is at most this much softer than its piece's median, in dB.</summary>
    private const double SofterBy = 6;

    /// <param name="hits">Sorted by time, from the recording's beginning on.</param>
    public static List<Hit> Judge(List<Hit> hits)
    {
        List<Hit> kept = [];
        foreach (Hit hit in hits)
        {
            if (hit.Time - AudioTime.Zero > Within || IsAsLoud(hit, hits))
                kept.Add(hit);
        }

        return kept;
    }

    private static bool IsAsLoud(Hit first, List<Hit> hits)
    {
        double[] others = [.. hits.Where(hit => hit.Piece == first.Piece && hit.Time - AudioTime.Zero > Within).Select(hit => hit.Level.Dbfs).Order()];
        return others.Length > 0 && first.Level.Dbfs >= others[others.Length / 2] - SofterBy;
    }
}
