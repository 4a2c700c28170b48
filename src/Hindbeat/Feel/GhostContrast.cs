using Hindbeat.Performances;

namespace Hindbeat.Feel;

/// <summary>How far a piece's ghost strokes lie below its full strokes.</summary>
/// <param name="Decibels">Mean level of the full strokes − mean level of the ghosts, dB, above 0.</param>
public sealed record GhostFigure(KitPiece Piece, Estimate Decibels, int Ghosts, int FullStrokes)
{
    /// <summary>False when the interval reaches zero: from two ghosts in a passage nothing is known of their level.</summary>
    public bool IsTold => Decibels.Low > 0;

    /// <summary>What the soft strokes are called: "ghosts" on drums; a hat or cymbal has soft strokes (common practice, no source).</summary>
    public string SoftOnes => Piece.Family() is PieceFamily.Hat or PieceFamily.Cymbal ? "soft strokes" : "ghosts";
}

/// <summary>
/// Ghosts against backbeats: a piece's strokes fall into a soft and a loud heap (gap of 8 dB and more, and 4.2 times the
/// heaps' own spread); the figure is the difference of the heaps' means. Strokes, not places, are parted, so a ghost and a
/// backbeat at one place do not blur.
/// </summary>
/// <remarks>Common practice, no source, for the gap. Interval by bar. Least data: two strokes of each in two bars.</remarks>
public static class GhostContrast
{
    internal static IReadOnlyList<GhostFigure> Measure(StrokeTable table, BarResampling resampling)
    {
        var figures = new List<GhostFigure>();
        foreach (KitPiece piece in table.Pieces.Where(piece => piece.PlayedBy() == Limb.Hand))
        {
            Stroke[] own = [.. table.Strokes.Where(stroke => stroke.Piece == piece)];
            if (LoudnessHeaps.CutOf(own.Select(stroke => stroke.Level)) is not { } cut)
                continue;
            double[] loud = new double[table.Blocks], soft = new double[table.Blocks], loudCount = new double[table.Blocks], softCount = new double[table.Blocks];
            foreach (Stroke stroke in own)
            {
                (double[] sum, double[] count) = stroke.Level > cut ? (loud, loudCount) : (soft, softCount);
                sum[stroke.Block] += stroke.Weight * stroke.Level;
                count[stroke.Block] += stroke.Weight;
            }

            double Mean(double[] sum, double[] count, int left)
            {
                double n = count.Sum() - (left < 0 ? 0 : count[left]);
                return n > 1e-9 ? (sum.Sum() - (left < 0 ? 0 : sum[left])) / n : double.NaN;
            }

            double loudN = loudCount.Sum(), softN = softCount.Sum();
            double[] shares = [.. loudCount.Select((n, b) => (n / (loudN * loudN)) + (softCount[b] / (softN * softN)))];
            if (resampling.Interval(left => Mean(loud, loudCount, left) - Mean(soft, softCount, left), shares) is { } difference)
                figures.Add(new GhostFigure(piece, difference, own.Count(stroke => stroke.Level <= cut), own.Count(stroke => stroke.Level > cut)));
        }

        return figures;
    }
}
