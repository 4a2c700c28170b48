using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Units;

namespace Hindbeat.Tests.Rebuilding;

public class TempoAndLoosenessTests
{
    private static readonly InventedPassage Passage = InventedPassage.Make(5);
    private static readonly FeelReport Feel = FeelAnalysis.Measure(Passage.Performance);

    [Fact]
    public void At_half_the_tempo_by_beat_everything_is_twice_as_long()
    {
        Bpm half = Bpm.Of(Passage.Performance.Pulse.MeanTempo.Value / 2);
        var plan = RebuildPlan.Make(Passage.Performance, Feel, Dials.AsPlayed with { TempoTo = half });
        double first = Passage.Performance.Pulse.Beats[0].Time.TotalSeconds;
        for (int i = 0; i < plan.Count; i++)
            Assert.Equal(2 * (Passage.Performance.Hits[i].Time.TotalSeconds - first), plan[i].Time.TotalSeconds - first, 1e-9);
    }

    [Fact]
    public void At_half_the_tempo_by_time_deviations_keep_their_milliseconds()
    {
        Dials dials = Dials.AsPlayed with { TempoTo = Bpm.Of(Passage.Performance.Pulse.MeanTempo.Value / 2), FeelScale = FeelScale.ByTime };
        var plan = RebuildPlan.Make(Passage.Performance, Feel, dials);
        Pulse slow = RebuildTempo.PulseOf(Passage.Performance, dials);
        int i = 0;
        foreach ((Hit _, BarPosition position, Seconds deviation) in Passage.Performance.PlacedHits())
            Assert.Equal(deviation.Milliseconds, (plan[i++].Time - slow.TimeAt(position)).Milliseconds, 1e-6);
    }

    [Fact]
    public void The_lay_back_by_beat_is_a_study_of_half_the_tempo_and_twice_the_milliseconds()
    {
        Dials dials = Dials.SwungAndLaidBack with { TempoTo = Bpm.Of(46) };
        FeelReport again = Study(dials);
        double ratio = Feel.Swing.Where(figure => figure.Level == SwingLevel.Sixteenth).MaxBy(figure => figure.Pairs)!.Ratio.Value;
        Assert.Equal(ratio, again.Swing.Where(figure => figure.Level == SwingLevel.Sixteenth).MaxBy(figure => figure.Pairs)!.Ratio.Value, 0.02);
        Assert.Equal(2 * LayBack(Feel), LayBack(again), 1.0);
        Assert.Equal(LayBack(Feel), LayBack(Study(dials with { FeelScale = FeelScale.ByTime })), 1.0);
    }

    [Fact]
    public void Fresh_looseness_has_the_measured_spread_and_no_two_seeds_agree()
    {
        Dials dials = Dials.AsWritten with { Looseness = 1 };
        double[] spreads = [.. Enumerable.Range(1, 40).Select(seed => Spread(RebuildPlan.Make(Passage.Performance, Feel, dials with { FreshLooseness = (ulong)seed })))];
        double measured = Feel.Looseness.Single(figure => figure.Piece == KitPiece.HatClosed).Milliseconds.Value;
        Assert.Equal(measured, Math.Sqrt(spreads.Average(spread => spread * spread)), 0.1 * measured);
        Assert.NotEqual(spreads[0], spreads[1]);
        Assert.Equal(
            RebuildPlan.Make(Passage.Performance, Feel, dials with { FreshLooseness = 9 }),
            RebuildPlan.Make(Passage.Performance, Feel, dials with { FreshLooseness = 9 }));

        double Spread(IReadOnlyList<PlannedStroke> plan)
        {
            var straight = RebuildPlan.Make(Passage.Performance, Feel, Dials.AsWritten);
            double[] late = [.. plan.Zip(straight).Where(pair => pair.First.Piece == KitPiece.HatClosed).Select(pair => (pair.First.Time - pair.Second.Time).Milliseconds)];
            return Math.Sqrt(late.Average(ms => ms * ms));
        }
    }

    [Fact]
    public void The_tie_between_strokes_is_the_lag_one_correlation()
    {
        // By hand: 1, −1, 1, −1 … turns at every stroke; of 20 values the estimate is −19/20.
        Assert.Equal(-0.9, FreshLooseness.Tie([.. Enumerable.Range(0, 20).Select(i => i % 2 == 0 ? 1.0 : -1.0)]), 1e-9);
        Assert.Equal(0, FreshLooseness.Tie([1, 2, 3]));
        // 16 values 0,0,1,1,0,0,1,1…: mean ½, products ¼·(8 − 7), sum of squares 4, so 1/16.
        Assert.Equal(1.0 / 16, FreshLooseness.Tie([.. Enumerable.Range(0, 16).Select(i => i / 2 % 2 == 0 ? 0.0 : 1.0)]), 1e-9);
    }

    [Fact]
    public void A_tempo_beyond_reason_is_named() =>
        Assert.Contains("tempo", Assert.Throws<InputException>(() => RebuildPlan.Make(Passage.Performance, Feel, Dials.AsPlayed with { TempoTo = Bpm.Of(900) })).Message, StringComparison.Ordinal);

    private static FeelReport Study(Dials dials)
    {
        var plan = RebuildPlan.Make(Passage.Performance, Feel, dials);
        return FeelAnalysis.Measure(new Performance(
            RebuildTempo.PulseOf(Passage.Performance, dials),
            plan.Select((stroke, i) => Passage.Performance.Hits[i] with { Time = stroke.Time })));
    }

    private static double LayBack(FeelReport report) => report.LayBack.Single(figure => figure.Piece == KitPiece.Kick).Milliseconds.Value;
}
