using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Feel;

/// <summary>One stroke seen in the folded bar.</summary>
/// <param name="Hit">Index into <see cref="Performance.Hits"/>.</param>
/// <param name="Bar">The bar it was played in.</param>
/// <param name="Beats">Where it fell, in (fractional) beats from its bar's beat 1; slightly negative when played early on 1.</param>
public readonly record struct FoldedStroke(int Hit, int Bar, double Beats);

/// <summary>All strokes of one piece that are written at one place of the bar.</summary>
/// <param name="Beat">Beat in the bar, from 1.</param>
/// <param name="Within">Exact fraction of the beat.</param>
/// <param name="Mean">Mean of where the strokes fell, in beats from beat 1, with its 95 % interval; null when fewer than three bars hold a stroke here.</param>
/// <param name="Late">The same as a deviation from the written place in milliseconds, positive = late.</param>
public sealed record FoldedPlace(
    KitPiece Piece, int Beat, Fraction Within, IReadOnlyList<FoldedStroke> Strokes, Estimate? Mean, Estimate? Late)
{
    /// <summary>The written place in beats from beat 1.</summary>
    public double Written => Beat - 1 + Within.ToDouble();
}

/// <summary>
/// All bars of a passage laid on one: where in the bar does each piece really fall, against the pulse
/// itself? Means are plain averages, so that a mean stands in the middle of the dots it is drawn with; their intervals
/// come from <see cref="BarResampling"/>, as those of every other figure, because strokes of one bar lean the same way
/// and are not independent.
/// </summary>
/// <remarks>
/// Where it differs from <see cref="FeelReport.Places"/>: those are robust and measured against the
/// report's reference; these are for drawing on the pulse's own bar.
/// </remarks>
/// <param name="Places">By piece, then place in the bar.</param>
/// <param name="Unwritten">Strokes that fit no written place, with their piece.</param>
public sealed record FoldedBar(
    Meter Meter, IReadOnlyList<FoldedPlace> Places, IReadOnlyList<(KitPiece Piece, FoldedStroke Stroke)> Unwritten)
{
    /// <summary>Two bars cannot say how much bars differ.</summary>
    public const int FewestBarsForAnInterval = 3;

    /// <param name="seed">Of the resampling; the same seed gives the same intervals.</param>
    public static FoldedBar Fold(Performance performance, ulong seed, int resamples = FeelOptions.FewestResamples)
    {
        ArgumentNullException.ThrowIfNull(performance);
        Pulse pulse = performance.Pulse;
        var written = new Dictionary<(KitPiece Piece, int Beat, Fraction Within), List<(FoldedStroke Stroke, double LateMs)>>();
        var unwritten = new List<(KitPiece, FoldedStroke)>();
        for (int i = 0; i < performance.Hits.Count; i++)
        {
            Hit hit = performance.Hits[i];
            double played = pulse.BeatsAt(hit.Time);
            if (hit.Position is { } position)
            {
                var stroke = new FoldedStroke(i, position.Bar, played - BarStart(pulse, position.Bar));
                var key = (hit.Piece, position.Beat, position.Within);
                if (!written.TryGetValue(key, out var strokes))
                    written.Add(key, strokes = []);
                strokes.Add((stroke, (hit.Time - pulse.TimeAt(position)).Milliseconds));
            }
            else
            {
                int bar = pulse.PositionAt(new Fraction((long)Math.Floor(played))).Bar;
                unwritten.Add((hit.Piece, new FoldedStroke(i, bar, played - BarStart(pulse, bar))));
            }
        }

        FoldedPlace[] places =
        [
            .. written.OrderBy(pair => pair.Key.Piece).ThenBy(pair => pair.Key.Beat).ThenBy(pair => pair.Key.Within).Select(pair => new FoldedPlace(
                pair.Key.Piece,
                pair.Key.Beat,
                pair.Key.Within,
                [.. pair.Value.Select(entry => entry.Stroke)],
                MeanOverBars([.. pair.Value.Select(entry => (entry.Stroke.Bar, entry.Stroke.Beats))], seed, resamples),
                MeanOverBars([.. pair.Value.Select(entry => (entry.Stroke.Bar, entry.LateMs))], seed, resamples))),
        ];
        return new FoldedBar(performance.Meter, places, unwritten);
    }

    private static double BarStart(Pulse pulse, int bar) => pulse.BeatsFromFirst(new BarPosition(bar, 1, Fraction.Zero)).ToDouble();

    private static Estimate? MeanOverBars((int Bar, double Value)[] strokes, ulong seed, int resamples)
    {
        // Bars, not strokes, are drawn: a flam puts two strokes of one piece at one place of one bar.
        (int Count, double Sum)[] bars = [.. strokes.GroupBy(stroke => stroke.Bar).Select(bar => (bar.Count(), bar.Sum(stroke => stroke.Value)))];
        if (bars.Length < FewestBarsForAnInterval)
            return null;
        int count = bars.Sum(bar => bar.Count);
        double sum = bars.Sum(bar => bar.Sum);
        return new BarResampling(bars.Length, resamples, seed).Interval(
            without => without < 0 ? sum / count : (sum - bars[without].Sum) / (count - bars[without].Count),
            [.. bars.Select(bar => (double)bar.Count)]);
    }
}
