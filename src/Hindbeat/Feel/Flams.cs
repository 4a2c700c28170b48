using Hindbeat.Performances;

namespace Hindbeat.Feel;

/// <summary>How wide a piece's flams are open.</summary>
/// <param name="WidthMs">From the grace stroke to the main stroke, milliseconds, above 0.</param>
public sealed record FlamFigure(KitPiece Piece, Estimate WidthMs, int Flams);

/// <summary>
/// Flam width: time from a grace stroke to the louder stroke of the same piece that follows within <see cref="WidestMs"/>,
/// with no third stroke as close before (that is a drag or a roll). Mean with interval by bar.
/// </summary>
/// <remarks>
/// Common practice, no source, for what counts as a flam. Listening merges most flams of a recording into one stroke;
/// MIDI of an electronic kit keeps them. Least data: <see cref="FewestFlams"/> in two bars.
/// </remarks>
public static class Flams
{
    public const int FewestFlams = 3;

    /// <summary>Two strokes farther apart than this are heard as two; the usual merging window of listening, too.</summary>
    public const double WidestMs = 50;

    internal static IReadOnlyList<FlamFigure> Measure(StrokeTable table, BarResampling resampling)
    {
        var figures = new List<FlamFigure>();
        foreach (var piece in table.Performance.Hits.Where(hit => hit.Piece.PlayedBy() == Limb.Hand).GroupBy(hit => hit.Piece).OrderBy(piece => piece.Key))
        {
            (double WidthMs, int Block)[] flams = [.. Of([.. piece], table)];
            if (flams.Length < FewestFlams)
                continue;
            double[] ones = [.. flams.Select(_ => 1.0)], widths = [.. flams.Select(flam => flam.WidthMs)];
            int[] blocks = [.. flams.Select(flam => flam.Block)];
            double spread = Math.Max(Spread.Around(widths, [.. flams.Select(_ => 0)]), 0.5);
            var mean = new RobustMean(widths, ones, blocks, table.Blocks, spread);
            // Three or four flams that agree by luck must not look sure: the least width knows how few they are.
            double least = spread / Math.Sqrt(flams.Length) * StudentT.Quantile975(flams.Length - 1) / StudentT.Normal975;
            if (resampling.Interval(mean.Without, mean.CountOf, leastSpread: least) is { } width)
                figures.Add(new FlamFigure(piece.Key, width with { Low = Math.Max(width.Low, 0) }, flams.Length));
        }

        return figures;
    }

    private static IEnumerable<(double WidthMs, int Block)> Of(Hit[] hits, StrokeTable table)
    {
        for (int i = 1; i < hits.Length; i++)
        {
            double width = (hits[i].Time - hits[i - 1].Time).Milliseconds;
            bool third = (i > 1 && (hits[i - 1].Time - hits[i - 2].Time).Milliseconds <= WidestMs)
                || (i + 1 < hits.Length && (hits[i + 1].Time - hits[i].Time).Milliseconds <= WidestMs);
            if (width > 0 && width <= WidestMs && !third && hits[i].Level.Dbfs > hits[i - 1].Level.Dbfs
                && hits[i].Position is { } place && table.BlockAt(place.Bar, place.Beat) is { } block)
                yield return (width, block);
        }
    }
}
