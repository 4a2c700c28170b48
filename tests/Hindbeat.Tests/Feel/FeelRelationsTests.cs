using CsCheck;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Tests.Feel;

/// <summary>What must happen to the figures when the strokes are shifted, stretched, mirrored, scaled or dropped.</summary>
public class FeelRelationsTests
{
    private const double Rounding = 1e-6;

    private static readonly Gen<(int Seed, double Tempo, int Bars)> Passages =
        Gen.Select(Gen.Int[0, 100_000], Gen.Double[60, 160], Gen.Int[6, 14]);

    [Fact]
    public void Shifting_every_stroke_moves_lateness_against_a_click_by_as_much_and_nothing_else() =>
        Passages.Select(Gen.Double[-40, 40]).Sample((passage, shiftMs) =>
        {
            Performance before = Groove(passage), after = Changed(before, (hit, place) => hit.Time + Seconds.FromMilliseconds(shiftMs));
            var click = new FeelOptions { Reference = FeelReference.Click };
            Same(FeelAnalysis.Measure(before, click), FeelAnalysis.Measure(after, click), ms => ms + shiftMs);
            Same(FeelAnalysis.Measure(before), FeelAnalysis.Measure(after), ms => ms);
        }, iter: 20);

    [Fact]
    public void Stretching_time_keeps_ratios_and_stretches_milliseconds() =>
        Passages.Select(Gen.Double[0.6, 1.7]).Sample((passage, factor) =>
        {
            Performance before = Groove(passage);
            var beats = before.Pulse.Beats.Select(beat => beat with { Time = AudioTime.FromSeconds(factor * beat.Time.TotalSeconds) }).ToList();
            var after = new Performance(new Pulse(before.Meter, beats, 1, PulseSource.Click),
                before.Hits.Select(hit => hit with { Time = AudioTime.FromSeconds(factor * hit.Time.TotalSeconds) }));
            FeelReport a = FeelAnalysis.Measure(before), b = FeelAnalysis.Measure(after);
            Same(a, b, ms => factor * ms, factor);
            for (int i = 0; i < a.Swing.Count; i++)
                Near(a.Swing[i].Ratio, b.Swing[i].Ratio);
            Near(a.LayBack.Select(figure => figure.Beats), b.LayBack.Select(figure => figure.Beats));
            Assert.Equal(a.Tempo.Bpm.Value / factor, b.Tempo.Bpm.Value, Rounding);
            Assert.Equal(a.Tempo.DriftBpmPerMinute.Value / factor / factor, b.Tempo.DriftBpmPerMinute.Value, 1e-4);
        }, iter: 20);

    [Fact]
    public void Mirroring_the_deviations_turns_late_into_early_and_long_short_into_short_long() =>
        Passages.Sample(passage =>
        {
            Performance before = Groove(passage), after = Changed(before, (hit, place) => place - (hit.Time - place));
            FeelReport a = FeelAnalysis.Measure(before), b = FeelAnalysis.Measure(after);
            Same(a, b, ms => -ms);
            for (int i = 0; i < a.Swing.Count; i++)
                Assert.Equal(1 / a.Swing[i].Ratio.Value, b.Swing[i].Ratio.Value, Rounding);
        }, iter: 20);

    [Fact]
    public void Scaling_the_deviations_scales_every_millisecond() =>
        Passages.Select(Gen.Double[0.8, 1.2]).Sample((passage, factor) =>
        {
            Performance before = Groove(passage), after = Changed(before, (hit, place) => place + ((hit.Time - place) * factor));
            FeelReport a = FeelAnalysis.Measure(before), b = FeelAnalysis.Measure(after);
            // Another verdict means other places that may swing; the relation holds while the verdicts do.
            if (Readings(a).SequenceEqual(Readings(b)))
                Same(a, b, ms => factor * ms, factor);
        }, iter: 20);

    [Fact]
    public void Dropping_bars_of_a_passage_of_equal_bars_changes_no_value() =>
        Gen.Select(Gen.Int[0, 100_000], Gen.Int[24, 32], Gen.Int[17, 23]).Sample((seed, bars, kept) =>
        {
            var random = new Random(seed);
            var pattern = new InventedFeel().Groove().Pattern.Select(stroke => (stroke, Late: 5 * InventedFeel.Normal(random))).ToList();
            Performance Make(int count)
            {
                var typed = new Typed(100, count);
                foreach (var (stroke, late) in pattern)
                    typed.EveryBar(stroke.Piece, stroke.Beat, stroke.Within, late);
                return typed.Make();
            }

            FeelReport all = FeelAnalysis.Measure(Make(bars)), some = FeelAnalysis.Measure(Make(kept));
            // Which off-beats may stand in for beats depends on how sure the swing is, thus on the number of bars; the
            // relation holds while that is the same. Groups of fewer than 16 strokes borrow their piece's spread, so that with
            // fewer bars strokes far from the rest may count more; and the robust scale is widened for few strokes: a hair's difference.
            bool alike = Readings(all).SequenceEqual(Readings(some));
            if (alike)
                Near(all.LayBack.Select(figure => figure.Milliseconds.Value), some.LayBack.Select(figure => figure.Milliseconds.Value), 0.3);
            Near(all.Touch.Select(figure => figure.Level.Value), some.Touch.Select(figure => figure.Level.Value), Rounding);
            Assert.All(all.Touch, figure => Assert.Equal(0, figure.Level.HalfWidth, Rounding));
        }, iter: 20);

    [Fact]
    public void Changing_the_reference_moves_every_lay_back_by_the_same_amount() =>
        Passages.Sample(passage =>
        {
            Performance performance = Groove(passage);
            double[] Of(FeelReference reference) => [.. FeelAnalysis.Measure(performance, new FeelOptions { Reference = reference }).LayBack.Select(figure => figure.Milliseconds.Value)];
            double[] hand = Of(FeelReference.TimekeepingHand), kit = Of(FeelReference.WholeKit), snare = Of(FeelReference.Snare);
            // Pieces in order: kick, snare, hat. The snare against itself is zero.
            Assert.Equal(0, snare[1], Rounding);
            Near(hand.Select(ms => ms - hand[1]), snare);
            Near(hand.Select(ms => ms - hand[0]), kit.Select(ms => ms - kit[0]));
        }, iter: 20);

    [Fact]
    public void The_order_of_the_strokes_and_the_seed_change_no_value() =>
        Passages.Sample(passage =>
        {
            Performance performance = Groove(passage);
            var shuffled = new Performance(performance.Pulse, performance.Hits.Reverse());
            FeelReport a = FeelAnalysis.Measure(performance), b = FeelAnalysis.Measure(shuffled), c = FeelAnalysis.Measure(performance, new FeelOptions { Seed = 99 });
            Same(a, b, ms => ms);
            Near(a.LayBack.Select(figure => figure.Milliseconds.Value), c.LayBack.Select(figure => figure.Milliseconds.Value));
            for (int i = 0; i < a.LayBack.Count; i++)
                Assert.Equal(a.LayBack[i].Milliseconds.HalfWidth, c.LayBack[i].Milliseconds.HalfWidth, 0.12 * a.LayBack[i].Milliseconds.HalfWidth + Rounding);
        }, iter: 20);

    private static IEnumerable<(SwingVerdict, bool)> Readings(FeelReport report) =>
        report.Swing.Select(figure => (figure.Verdict, figure.Ratio is { Low: <= 1, High: >= 1 }));

    private static Performance Groove((int Seed, double Tempo, int Bars) passage)
    {
        var invented = new InventedFeel { Tempo = passage.Tempo, Bars = passage.Bars, Swing16 = 1.5, Missing = 0.1, Source = PulseSource.Click };
        invented.Groove();
        foreach (KitPiece piece in new[] { KitPiece.HatClosed, KitPiece.Snare, KitPiece.Kick })
            invented.LoosenessMs[piece] = 7;
        invented.LayBackMs[KitPiece.Kick] = 15;
        return invented.Make(new Random(passage.Seed));
    }

    private static Performance Changed(Performance performance, Func<Hit, AudioTime, AudioTime> time) =>
        new(performance.Pulse, performance.PlacedHits().Select(item => item.Hit with { Time = time(item.Hit, performance.Pulse.TimeAt(item.Position)) }));

    /// <summary>Lay-back follows the map; swing delays and looseness only its scale and sign.</summary>
    private static void Same(FeelReport a, FeelReport b, Func<double, double> map, double spreadFactor = 1)
    {
        double zero = map(0), one = map(1) - zero;
        Assert.Equal(a.LayBack.Count, b.LayBack.Count);
        for (int i = 0; i < a.LayBack.Count; i++)
            Near(Mapped(a.LayBack[i].Milliseconds, map), b.LayBack[i].Milliseconds);
        Assert.Equal(a.Swing.Count, b.Swing.Count);
        for (int i = 0; i < a.Swing.Count; i++)
            Near(Mapped(a.Swing[i].DelayMs, ms => one * ms), b.Swing[i].DelayMs);
        Assert.Equal(a.Looseness.Count, b.Looseness.Count);
        for (int i = 0; i < a.Looseness.Count; i++)
            Near(Mapped(a.Looseness[i].Milliseconds, ms => spreadFactor * ms), b.Looseness[i].Milliseconds);
        for (int i = 0; i < a.Touch.Count; i++)
            Near(a.Touch[i].Level, b.Touch[i].Level);
    }

    private static Estimate Mapped(Estimate e, Func<double, double> map) =>
        map(1) > map(0) ? new(map(e.Value), map(e.Low), map(e.High)) : new(map(e.Value), map(e.High), map(e.Low));

    private static void Near(Estimate a, Estimate b)
    {
        Assert.Equal(a.Value, b.Value, Rounding * Math.Max(1, Math.Abs(a.Value)));
        Assert.Equal(a.Low, b.Low, 1e-4 * Math.Max(1, Math.Abs(a.Low)));
        Assert.Equal(a.High, b.High, 1e-4 * Math.Max(1, Math.Abs(a.High)));
    }

    private static void Near(IEnumerable<double> a, IEnumerable<double> b, double tolerance = Rounding)
    {
        double[] left = [.. a], right = [.. b];
        Assert.Equal(left.Length, right.Length);
        for (int i = 0; i < left.Length; i++)
            Assert.Equal(left[i], right[i], tolerance);
    }
}
