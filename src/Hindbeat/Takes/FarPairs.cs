using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Takes;

/// <summary>
/// Pairs of strokes that lie too far apart to be one: two performances of a groove fill it differently, and what stands nearest is then taken
/// for the same stroke. A few such pairs made a kick's looseness 25 ms greater than that of either performance.
/// </summary>
/// <remarks>
/// r = how late the take's stroke is − the median of all pairs at the same place within the beat (a swing that differs moves them all). Too far:
/// |r| over <see cref="Nearest"/> beats and over <see cref="Spreads"/> times the piece's spread of r (1.4826 × the median |r|, a normal
/// distribution's standard deviation; textbook) or over <see cref="FarthestMs"/>, both from where the passage's stroke sounded and from where it is written.
/// </remarks>
internal static class FarPairs
{
    /// <summary>Nearer strokes stay a pair however even the rest is, beats: between a 16th and a triplet's third lie 0.083.</summary>
    private const double Nearest = 0.1;

    /// <summary>Of normal values one in five hundred million lies farther.</summary>
    private const double Spreads = 6;

    /// <summary>However loose a piece is, no drummer of 20 ms' spread, which is loose, comes so far off by chance (five times it).</summary>
    private const double FarthestMs = 100;

    /// <summary>Fewer pairs of a piece have no spread, of a place no middle, of their own.</summary>
    private const int Fewest = 8, FewestAtPlace = 4;

    /// <returns>For each pair whether it is too far apart.</returns>
    public static bool[] Of(ReferenceBars reference, IReadOnlyList<Counterpart> pairs, double[] places)
    {
        if (pairs.Count < Fewest)
            return new bool[pairs.Count];
        double[] sounded = Left(pair => reference.InRound(pair.Reference, pair.Round).Place), written = Left(pair => reference.InRound(pair.Reference, pair.Round).Written);
        double all = Spread(sounded), farthest = Math.Max(Nearest, FarthestMs / reference.Performance.Pulse.MeanTempo.Beat.Milliseconds);
        var spreads = Enumerable.Range(0, pairs.Count).GroupBy(i => Piece(pairs[i])).ToDictionary(piece => piece.Key, piece => piece.Count() < Fewest ? all : Spread([.. piece.Select(i => sounded[i])]));
        return [.. pairs.Select((pair, i) => Math.Min(Math.Abs(sounded[i]), Math.Abs(written[i])) > Math.Clamp(Spreads * spreads[Piece(pair)], Nearest, farthest))];

        KitPiece Piece(Counterpart pair) => reference.Strokes[pair.Reference].Hit.Piece;

        double[] Left(Func<Counterpart, double> from)
        {
            double[] late = [.. pairs.Select(pair => places[pair.Take] - from(pair))];
            double middle = Median(late);
            var middles = Enumerable.Range(0, pairs.Count).GroupBy(i => Within(pairs[i])).ToDictionary(place => place.Key, place => place.Count() < FewestAtPlace ? middle : Median([.. place.Select(i => late[i])]));
            return [.. late.Select((one, i) => one - middles[Within(pairs[i])])];
        }

        Fraction Within(Counterpart pair) => reference.Strokes[pair.Reference].Hit.Position!.Value.Within;
    }

    private static double Spread(double[] values) => 1.4826 * Median([.. values.Select(Math.Abs)]);

    private static double Median(double[] values)
    {
        double[] sorted = [.. values.Order()];
        return 0.5 * (sorted[(sorted.Length - 1) / 2] + sorted[sorted.Length / 2]);
    }
}
