using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Feel;

/// <summary>How often the hat is open at one place of the bar.</summary>
/// <param name="Beat">Beat in the bar, from 1.</param>
/// <param name="Within">Exact fraction of the beat.</param>
/// <param name="Percent">Open strokes of all hat strokes of the hand there, 0 to 100.</param>
public sealed record OpennessFigure(int Beat, Fraction Within, Estimate Percent, int Open, int Strokes);

/// <summary>
/// The pattern of open hats: at every place where the hand on the hats plays an open one at least once, the share of open
/// strokes. Interval: Wilson's for a share, (p + z²/2n ± z√(p(1−p)/n + z²/4n²)) ÷ (1 + z²/n), because a place is struck once a bar.
/// </summary>
/// <remarks>Wilson, Journal of the American Statistical Association 22:209–212, 1927 (from memory). Least data: two strokes at the place.</remarks>
public static class HatOpenness
{
    private const int FewestStrokes = 2;

    internal static IReadOnlyList<OpennessFigure> Measure(StrokeTable table) =>
    [
        .. table.Strokes.Where(stroke => stroke.Piece is KitPiece.HatClosed or KitPiece.HatOpen)
            .GroupBy(stroke => (table.Cells[stroke.Cell].Beat, table.Cells[stroke.Cell].Within))
            .Select(place => (Place: place.Key, Open: place.Count(stroke => stroke.Piece == KitPiece.HatOpen), All: place.Count()))
            .Where(place => place.Open > 0 && place.All >= FewestStrokes)
            .OrderBy(place => place.Place.Beat).ThenBy(place => place.Place.Within)
            .Select(place => new OpennessFigure(place.Place.Beat, place.Place.Within, Share(place.Open, place.All), place.Open, place.All)),
    ];

    /// <summary>A share of n in percent with Wilson's 95 % interval.</summary>
    public static Estimate Share(int count, int of)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(of);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(count, of);
        ArgumentOutOfRangeException.ThrowIfNegative(count);
        const double Z = StudentT.Normal975;
        double n = of, p = count / n, centre = p + (Z * Z / (2 * n)), reach = Z * Math.Sqrt((p * (1 - p) / n) + (Z * Z / (4 * n * n))), scale = 1 + (Z * Z / n);
        return new Estimate(100 * p, Math.Max(0, 100 * (centre - reach) / scale), Math.Min(100, 100 * (centre + reach) / scale));
    }
}
