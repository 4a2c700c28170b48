using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Tests.Feel;

/// <summary>
/// The same figures worked out the dumb way on clean passages: plain means of deviations, plain pairs, the textbook
/// t interval over bar means, a textbook standard deviation, a least-squares parabola. No robust weights, no curve.
/// </summary>
public class PlainSecondImplementationTests
{
    private static readonly KitPiece[] Pieces = [KitPiece.Kick, KitPiece.Snare, KitPiece.HatClosed];

    private static (Performance Performance, double Swing) Clean(int seed)
    {
        var feel = new InventedFeel { Tempo = 88 + seed, Bars = 12, Swing16 = 1.3 + (0.02 * seed) };
        feel.Groove();
        foreach (KitPiece piece in Pieces)
            feel.LoosenessMs[piece] = 5;
        feel.LayBackMs[KitPiece.Kick] = 12;
        return (feel.Make(new Random(seed)), feel.Swing16);
    }

    public static TheoryData<int> Seeds => [.. Enumerable.Range(1, 8)];

    [Theory]
    [MemberData(nameof(Seeds))]
    public void Swing_from_plain_pairs_of_neighbours(int seed)
    {
        (Performance performance, _) = Clean(seed);
        FeelReport report = FeelAnalysis.Measure(performance);
        // Each hat on the beat (and the "&", when the 8ths are straight), the next, and the one after: long and short added up.
        var hats = performance.PlacedHits().Where(item => item.Hit.Piece == KitPiece.HatClosed).ToList();
        double longs = 0, shorts = 0;
        for (int i = 0; i + 2 < hats.Count; i += 2)
        {
            if (!DoesNotSwing(report, hats[i].Position.Within))
                continue;
            longs += (hats[i + 1].Hit.Time - hats[i].Hit.Time).Value;
            // To the even place of the next 8th, as late as the hats are on places that do not swing.
            shorts += DoesNotSwing(report, hats[i + 2].Position.Within)
                ? (hats[i + 2].Hit.Time - hats[i + 1].Hit.Time).Value
                : (performance.Pulse.TimeAt(hats[i + 2].Position) - hats[i + 1].Hit.Time).Value + (PlainMean(report, hats, KitPiece.HatClosed) / 1000);
        }

        SwingFigure swing = report.Swing.Single(figure => figure.Level == SwingLevel.Sixteenth && figure.Pieces is [KitPiece.HatClosed]);

        // The off-beats after the "&" count in the model and not in the pairs when the 8ths are not surely straight.
        Assert.Equal(longs / shorts, swing.Ratio.Value, DoesNotSwing(report, new Fraction(1, 2)) ? 0.015 : 0.5 * swing.Ratio.HalfWidth);
    }

    [Theory]
    [MemberData(nameof(Seeds))]
    public void Lay_back_from_plain_means_and_a_t_interval_over_bars(int seed)
    {
        (Performance performance, _) = Clean(seed);
        FeelReport report = FeelAnalysis.Measure(performance);
        double[] bars = [.. performance.PlacedHits().GroupBy(item => item.Position.Bar).Select(bar =>
            PlainMean(report, bar, KitPiece.Kick) - PlainMean(report, bar, KitPiece.HatClosed))];
        double mean = bars.Average(), sd = Math.Sqrt(bars.Sum(x => (x - mean) * (x - mean)) / (bars.Length - 1));
        // t(0.975; 11) = 2.201, NIST/SEMATECH e-Handbook, table 1.3.6.7.2.
        double half = 2.201 * sd / Math.Sqrt(bars.Length);

        LayBackFigure kick = report.LayBack.Single(figure => figure.Piece == KitPiece.Kick);

        // A biweight and a plain mean differ by about a quarter of a standard error (95 % efficiency), here 0.2 ms.
        Assert.Equal(mean, kick.Milliseconds.Value, 0.6);
        // Two ways to the same width; the resampled one is held up where the bars agree by luck.
        Assert.InRange(kick.Milliseconds.HalfWidth / half, 0.75, 1.6);
    }

    [Theory]
    [MemberData(nameof(Seeds))]
    public void Looseness_from_a_plain_standard_deviation(int seed)
    {
        (Performance performance, _) = Clean(seed);
        double squares = 0;
        int left = 0;
        foreach (var place in performance.PlacedHits().Where(item => item.Hit.Piece == KitPiece.HatClosed).GroupBy(item => (item.Position.Beat, item.Position.Within)))
        {
            double mean = place.Average(item => item.Deviation.Milliseconds);
            squares += place.Sum(item => Math.Pow(item.Deviation.Milliseconds - mean, 2));
            left += place.Count() - 1;
        }

        LoosenessFigure hat = FeelAnalysis.Measure(performance).Looseness.Single(figure => figure.Piece == KitPiece.HatClosed);

        Assert.Equal(Math.Sqrt(squares / left), hat.Milliseconds.Value, 0.2);
    }

    [Theory]
    [MemberData(nameof(Seeds))]
    public void Touch_from_a_plain_mean(int seed)
    {
        (Performance performance, _) = Clean(seed);
        foreach (TouchFigure touch in FeelAnalysis.Measure(performance).Touch)
        {
            double mean = performance.PlacedHits()
                .Where(item => item.Hit.Piece == touch.Piece && item.Position.Beat == touch.Beat && item.Position.Within == touch.Within)
                .Average(item => item.Hit.Level.Dbfs);
            Assert.Equal(mean, touch.Level.Value, 1e-9);
        }
    }

    [Fact]
    public void Drift_from_the_tempo_of_the_first_and_second_half()
    {
        var feel = new InventedFeel { Tempo = 100, Drift = 8, Bars = 24 };
        feel.PlayEvery(KitPiece.HatClosed, -20, 0, new Fraction(1, 2));
        feel.LoosenessMs[KitPiece.HatClosed] = 2;
        Performance performance = feel.Make(new Random(1));
        double[] beats = [.. performance.Hits.Where((_, i) => i % 2 == 0).Select(hit => hit.Time.TotalSeconds)];
        int half = beats.Length / 2;
        double first = 60 * half / (beats[half] - beats[0]), second = 60 * (beats.Length - 1 - half) / (beats[^1] - beats[half]);
        double plain = (second - first) / ((beats[^1] - beats[0]) / 2 / 60);

        Assert.Equal(plain, FeelAnalysis.Measure(performance).Tempo.DriftBpmPerMinute.Value, 0.3);
    }

    /// <summary>The documented rule: beats always; the "&amp;" when the 8ths are straight and their interval holds 1.</summary>
    private static bool DoesNotSwing(FeelReport report, Fraction within) =>
        within == 0 || (within == new Fraction(1, 2) && report.Swing[0] is { Level: SwingLevel.Eighth, Verdict: SwingVerdict.Straight, Ratio: { Low: <= 1, High: >= 1 } });

    private static double PlainMean(FeelReport report, IEnumerable<(Hit Hit, BarPosition Position, Seconds Deviation)> strokes, KitPiece piece) =>
        strokes.Where(item => item.Hit.Piece == piece && DoesNotSwing(report, item.Position.Within)).Average(item => item.Deviation.Milliseconds);
}
