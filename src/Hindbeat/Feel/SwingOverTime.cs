using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Feel;

/// <summary>The swing of one level in one window of bars.</summary>
/// <param name="Tempo">Mean tempo of those bars.</param>
public sealed record SwingWindow(SwingLevel Level, int FirstBar, int LastBar, Bpm Tempo, Estimate Ratio, int Pairs);

/// <summary>How the swing ratio changes with the tempo over the windows of a passage.</summary>
/// <param name="PerTenBpm">Change of the ratio for 10 bpm more; negative = straighter when faster.</param>
public sealed record SwingAgainstTempo(SwingLevel Level, Estimate PerTenBpm, Bpm Slowest, Bpm Fastest);

/// <summary>
/// Swing over time: the passage in windows of at least four bars, each measured as a passage of its own. And swing against
/// tempo: the slope of a straight line through the windows' ratios, weighted by 1 ÷ (standard error)², when their tempi differ
/// by at least <see cref="LeastTempoRange"/>.
/// </summary>
/// <remarks>
/// Interval of the slope: ± t(0.975; windows − 2) standard errors, from the windows' scatter around the line or their own
/// intervals, whichever is larger (weighted least squares, textbook). Least data: two windows; five for the slope.
/// </remarks>
public static class SwingOverTime
{
    public const double LeastTempoRange = 0.04;
    private const int MostWindows = 16;
    private const int FewestForSlope = 5;

    /// <summary>A window whose ratio could be anything between this many times lower and higher is not drawn.</summary>
    private const double WidestRatio = 3;

    internal static IReadOnlyList<SwingWindow> Measure(Performance performance, StrokeTable table, FeelOptions options)
    {
        int per = Math.Max(StrokeTable.FewestBars, (table.Bars + MostWindows - 1) / MostWindows);
        if (table.Bars < 2 * per)
            return [];
        (Hit Hit, int Bar)[] placed = [.. performance.PlacedHits().Where(item => item.Hit.Confidence > 0).Select(item => (item.Hit, item.Position.Bar))];
        int[] bars = [.. placed.Select(item => item.Bar).Distinct().Order()];
        var windows = new List<SwingWindow>();
        for (int first = 0; first + per <= bars.Length; first += per)
        {
            // The last window takes the bars that are left over.
            int last = first + (2 * per) > bars.Length ? bars.Length - 1 : first + per - 1;
            int from = bars[first], to = bars[last];
            windows.AddRange(Of(new Performance(performance.Pulse, placed.Where(item => item.Bar >= from && item.Bar <= to).Select(item => item.Hit)), from, to, options));
        }

        return [.. windows.OrderBy(window => window.Level).ThenBy(window => window.FirstBar)];
    }

    /// <summary>The slopes that the windows can tell.</summary>
    internal static IReadOnlyList<SwingAgainstTempo> AgainstTempo(IReadOnlyList<SwingWindow> windows)
    {
        var slopes = new List<SwingAgainstTempo>();
        foreach (var level in windows.GroupBy(window => window.Level))
        {
            SwingWindow[] all = [.. level.Where(window => window.Ratio.HalfWidth > 0)];
            if (all.Length < FewestForSlope)
                continue;
            double slow = all.Min(window => window.Tempo.Value), fast = all.Max(window => window.Tempo.Value);
            if (fast < slow * (1 + LeastTempoRange))
                continue;
            // A window's interval was widened by t for its few bars; its standard error is narrower than half ÷ 1.96.
            double[] weight = [.. all.Select(window => Math.Pow(StudentT.Quantile975(window.LastBar - window.FirstBar) / window.Ratio.HalfWidth, 2))];
            double total = weight.Sum(), x = 0, y = 0, xx = 0, xy = 0, left = 0;
            for (int i = 0; i < all.Length; i++)
                (x, y) = (x + (weight[i] * all[i].Tempo.Value / total), y + (weight[i] * all[i].Ratio.Value / total));
            for (int i = 0; i < all.Length; i++)
                (xx, xy) = (xx + (weight[i] * Math.Pow(all[i].Tempo.Value - x, 2)), xy + (weight[i] * (all[i].Tempo.Value - x) * (all[i].Ratio.Value - y)));
            double slope = xy / xx;
            for (int i = 0; i < all.Length; i++)
                left += weight[i] * Math.Pow(all[i].Ratio.Value - y - (slope * (all[i].Tempo.Value - x)), 2);
            double error = Math.Sqrt(Math.Max(left / (all.Length - 2), 1) / xx) * StudentT.Quantile975(all.Length - 2);
            slopes.Add(new SwingAgainstTempo(level.Key, new Estimate(10 * slope, 10 * (slope - error), 10 * (slope + error)), Bpm.Of(slow), Bpm.Of(fast)));
        }

        return slopes;
    }

    private static IEnumerable<SwingWindow> Of(Performance window, int from, int to, FeelOptions options)
    {
        StrokeTable table = StrokeTable.From(window);
        FeelModel model = FeelModel.Fit(table, eighthsAreStraight: false, sixteenthsAreStraight: false, withCurve: true);
        var resampling = new BarResampling(table.Blocks, options.Resamples, options.Seed);
        Pulse pulse = window.Pulse;
        double start = Math.Max(pulse.BeatsFromFirst(new BarPosition(from, 1, Fraction.Zero)).ToDouble(), 0);
        double end = Math.Min(pulse.BeatsFromFirst(new BarPosition(to + 1, 1, Fraction.Zero)).ToDouble(), pulse.Beats.Count - 1);
        var tempo = Bpm.FromBeat((pulse.TimeAt(end) - pulse.TimeAt(start)) / (end - start));
        foreach (SwingLevel level in new[] { SwingLevel.Eighth, SwingLevel.Sixteenth })
        {
            IReadOnlyList<SwingFigure> figures = SwingRatio.Measure(model, resampling, level, eighthsSwing: false, options.Hearing);
            if (figures.Count == 0)
                continue;
            SwingFigure figure = figures[0];
            if (!figure.Doubts.OfType<SwingAndLayBackMixed>().Any() && figure.Ratio.High < WidestRatio * figure.Ratio.Low)
                yield return new SwingWindow(level, from, to, tempo, figure.Ratio, figure.Pairs);
        }
    }
}
