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
/// All bars of a passage laid on one: where in the bar does each piece really fall? Means are plain
/// averages; intervals are the 2.5th and 97.5th percentile of the mean over bars drawn with
/// replacement (Efron &amp; Tibshirani, An Introduction to the Bootstrap, 1993, chapter 13), because strokes of one bar
/// lean the same way and are not independent.
/// </summary>
/// <param name="Places">By piece, then place in the bar.</param>
/// <param name="Unwritten">Strokes that fit no written place, with their piece.</param>
public sealed record FoldedBar(
    Meter Meter, IReadOnlyList<FoldedPlace> Places, IReadOnlyList<(KitPiece Piece, FoldedStroke Stroke)> Unwritten)
{
    /// <summary>Resamples behind each interval: the percentiles of 1000 wander by about 3 % of the interval's width.</summary>
    public const int DefaultResamples = 1000;

    /// <summary>Two bars cannot say how much bars differ.</summary>
    public const int FewestBarsForAnInterval = 3;

    /// <param name="seed">Of the resampling; the same seed gives the same intervals.</param>
    public static FoldedBar Fold(Performance performance, int seed, int resamples = DefaultResamples)
    {
        ArgumentNullException.ThrowIfNull(performance);
        ArgumentOutOfRangeException.ThrowIfLessThan(resamples, 100);
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

        var random = new Random(seed);
        FoldedPlace[] places =
        [
            .. written.OrderBy(pair => pair.Key.Piece).ThenBy(pair => pair.Key.Beat).ThenBy(pair => pair.Key.Within).Select(pair => new FoldedPlace(
                pair.Key.Piece,
                pair.Key.Beat,
                pair.Key.Within,
                [.. pair.Value.Select(entry => entry.Stroke)],
                MeanOverBars([.. pair.Value.Select(entry => (entry.Stroke.Bar, entry.Stroke.Beats))], random, resamples),
                MeanOverBars([.. pair.Value.Select(entry => (entry.Stroke.Bar, entry.LateMs))], random, resamples))),
        ];
        return new FoldedBar(performance.Meter, places, unwritten);
    }

    private static double BarStart(Pulse pulse, int bar) => pulse.BeatsFromFirst(new BarPosition(bar, 1, Fraction.Zero)).ToDouble();

    private static Estimate? MeanOverBars((int Bar, double Value)[] strokes, Random random, int resamples)
    {
        // Bars, not strokes, are drawn: a flam puts two strokes of one piece at one place of one bar.
        double[][] bars = [.. strokes.GroupBy(stroke => stroke.Bar).Select(bar => bar.Select(stroke => stroke.Value).ToArray())];
        if (bars.Length < FewestBarsForAnInterval)
            return null;
        var means = new double[resamples];
        for (int r = 0; r < resamples; r++)
        {
            double sum = 0;
            int count = 0;
            for (int b = 0; b < bars.Length; b++)
            {
                foreach (double value in bars[random.Next(bars.Length)])
                {
                    sum += value;
                    count++;
                }
            }

            means[r] = sum / count;
        }

        Array.Sort(means);
        return new Estimate(strokes.Average(stroke => stroke.Value), Percentile(means, 0.025), Percentile(means, 0.975));
    }

    private static double Percentile(double[] sorted, double share)
    {
        double place = share * (sorted.Length - 1);
        int below = (int)place;
        return below + 1 < sorted.Length ? sorted[below] + ((place - below) * (sorted[below + 1] - sorted[below])) : sorted[below];
    }
}
