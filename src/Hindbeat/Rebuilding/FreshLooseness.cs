using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>
/// Chance drawn anew: for each piece a series with its measured spread and its measured tie between one stroke
/// and the next, so that it is as loose as the drummer was without repeating what he did.
/// </summary>
/// <remarks>
/// A first-order autoregressive series x(n) = ρ·x(n−1) + √(1−ρ²)·σ·g(n), started in its steady state (textbook).
/// ρ is the lag-1 correlation of the piece's own chance; from few strokes it is taken for 0.
/// </remarks>
internal static class FreshLooseness
{
    /// <summary>A correlation from fewer pairs than this is itself chance.</summary>
    private const int LeastStrokes = 16;

    /// <summary>Closer to 1 the series would wander like a tempo.</summary>
    private const double StrongestTie = 0.9;

    /// <returns>The parts with other chance; places without strokes stay null.</returns>
    public static StrokeParts?[] Draw(Performance performance, FeelReport report, StrokeParts?[] parts, ulong seed)
    {
        var drawn = (StrokeParts?[])parts.Clone();
        foreach (IGrouping<KitPiece, int> piece in Enumerable.Range(0, parts.Length).Where(i => parts[i] is not null).GroupBy(i => performance.Hits[i].Piece))
        {
            int[] strokes = [.. piece];
            double[] chance = [.. strokes.Select(i => parts[i]!.Value.Chance)];
            double spread = Spread(report, piece.Key, chance);
            double tie = Tie(chance);
            // Each piece its own numbers, so that a piece more or less does not change the others.
            var dice = new SplitMix64(seed + (((ulong)piece.Key + 1) * 0xD1342543DE82EF95));
            double value = spread * dice.Gaussian();
            foreach (int i in strokes)
            {
                drawn[i] = parts[i]!.Value with { Chance = value };
                value = (tie * value) + (Math.Sqrt(1 - (tie * tie)) * spread * dice.Gaussian());
            }
        }

        return drawn;
    }

    /// <summary>The report's figure; without one what is left in the strokes themselves.</summary>
    private static double Spread(FeelReport report, KitPiece piece, double[] chance) =>
        report.Looseness.FirstOrDefault(figure => figure.Piece == piece) is { } figure && double.IsFinite(figure.Milliseconds.Value)
            ? figure.Milliseconds.Value / 1000
            : Math.Sqrt(chance.Sum(value => value * value) / chance.Length);

    internal static double Tie(double[] chance)
    {
        if (chance.Length < LeastStrokes)
            return 0;
        double mean = chance.Average();
        double top = 0;
        double bottom = 0;
        for (int i = 0; i < chance.Length; i++)
        {
            bottom += (chance[i] - mean) * (chance[i] - mean);
            if (i > 0)
                top += (chance[i] - mean) * (chance[i - 1] - mean);
        }

        return bottom > 0 ? Math.Clamp(top / bottom, -StrongestTie, StrongestTie) : 0;
    }
}
