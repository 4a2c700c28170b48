using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;

namespace Hindbeat.Tests.Rebuilding;

/// <summary>
/// Studying a rebuild gives back the dialled feel: swing within 0.02, lay-back within 1 ms (the project's
/// targets). The feel is measured by the engine's own analysis, on the planned strokes.
/// </summary>
public class DialledFeelTests
{
    private const double TrueRatio = 1.62;

    [Theory]
    [InlineData(1, 0, 0)]
    [InlineData(1, 1, 0)]
    [InlineData(1, 0, 1)]
    [InlineData(2, 1, 1)]
    [InlineData(2, 0.5, 1.5)]
    [InlineData(7, 1.5, 0.5)]
    public void A_study_of_the_rebuild_finds_what_the_dials_say(ulong seed, double swing, double layBack)
    {
        InventedPassage passage = InventedPassage.Make(seed);
        FeelReport measured = FeelAnalysis.Measure(passage.Performance);
        FeelReport again = Study(passage.Performance, measured, Dials.AsWritten with { Swing = swing, LayBack = layBack });
        double share = 0.5 + (swing * ((TrueRatio / (1 + TrueRatio)) - 0.5));
        Assert.Equal(share / (1 - share), RatioOf(again), 0.02);
        Assert.Equal(layBack * 18, LayBackOf(again, KitPiece.Kick), 1.0);
        Assert.Equal(layBack * 6, LayBackOf(again, KitPiece.Snare), 1.0);
    }

    [Fact]
    public void As_played_is_studied_as_the_original()
    {
        InventedPassage passage = InventedPassage.Make(3);
        FeelReport measured = FeelAnalysis.Measure(passage.Performance);
        IReadOnlyList<PlannedStroke> plan = RebuildPlan.Make(passage.Performance, measured, Dials.AsPlayed);
        FeelReport again = FeelAnalysis.Measure(new Performance(passage.Performance.Pulse, Played(passage.Performance, plan)));
        Assert.Equal(RatioOf(measured), RatioOf(again), 1e-6);
        Assert.Equal(LayBackOf(measured, KitPiece.Kick), LayBackOf(again, KitPiece.Kick), 1e-6);
    }

    private static FeelReport Study(Performance original, FeelReport measured, Dials dials)
    {
        IReadOnlyList<PlannedStroke> plan = RebuildPlan.Make(original, measured, dials);
        Pulse steady = Pulse.Steady(original.Meter, original.Pulse.MeanTempo, original.Pulse.Beats[0].Time, original.Pulse.Beats.Count);
        return FeelAnalysis.Measure(new Performance(steady, Played(original, plan)));
    }

    private static IEnumerable<Hit> Played(Performance original, IReadOnlyList<PlannedStroke> plan) =>
        plan.Select((stroke, i) => original.Hits[i] with { Time = stroke.Time, Velocity = (int)Math.Round(stroke.Velocity) });

    private static double RatioOf(FeelReport report) =>
        report.Swing.Where(figure => figure.Level == SwingLevel.Sixteenth).MaxBy(figure => figure.Pairs)!.Ratio.Value;

    private static double LayBackOf(FeelReport report, KitPiece piece) =>
        report.LayBack.Single(figure => figure.Piece == piece).Milliseconds.Value;
}
