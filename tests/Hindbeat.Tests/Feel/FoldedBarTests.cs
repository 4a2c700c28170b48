using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Tests.Feel;

/// <summary>Means are worked out by hand; the interval is held against Student's t of the same numbers.</summary>
public class FoldedBarTests
{
    private static readonly Pulse OneSecondBeats = Pulse.Steady(Meter.FourFour, Bpm.Of(60), AudioTime.FromSeconds(1), 17);

    [Fact]
    public void Strokes_lie_where_they_fell_and_their_mean_between_them()
    {
        FoldedBar folded = FoldedBar.Fold(Snares(10, 20, 30, 20), seed: 1);
        FoldedPlace place = Assert.Single(folded.Places);
        Assert.Equal((KitPiece.Snare, 2, Fraction.Zero, 1.0), (place.Piece, place.Beat, place.Within, place.Written));
        Assert.Equal(new[] { 1.010, 1.020, 1.030, 1.020 }, place.Strokes.Select(stroke => Math.Round(stroke.Beats, 9)));
        Assert.Equal([1, 2, 3, 4], place.Strokes.Select(stroke => stroke.Bar));
        Assert.Equal(1.020, place.Mean!.Value.Value, 9);
        Assert.Equal(20.0, place.Late!.Value.Value, 6);
    }

    /// <summary>n = 4, mean 20, s = 8.165: t(0.975; 3) · s / √n = 3.182 · 4.082 = 12.99 (t from the usual table).</summary>
    [Fact]
    public void The_interval_of_four_bars_is_about_as_wide_as_students()
    {
        Estimate late = FoldedBar.Fold(Snares(10, 20, 30, 20), seed: 1).Places[0].Late!.Value;
        Assert.InRange(late.HalfWidth, 0.85 * 12.99, 1.15 * 12.99);
    }

    [Fact]
    public void Two_bars_give_dots_but_no_interval()
    {
        FoldedPlace place = Assert.Single(FoldedBar.Fold(Snares(10, 20), seed: 1).Places);
        Assert.Equal(2, place.Strokes.Count);
        Assert.Null(place.Mean);
        Assert.Null(place.Late);
    }

    [Fact]
    public void A_stroke_early_on_one_stays_with_its_bar()
    {
        var hit = new Hit(AudioTime.FromSeconds(4.98), KitPiece.Kick, 100, Level.FromDbfs(-10), 1) { Position = new BarPosition(2, 1, Fraction.Zero) };
        FoldedStroke stroke = FoldedBar.Fold(new Performance(OneSecondBeats, [hit]), seed: 1).Places[0].Strokes[0];
        Assert.Equal(2, stroke.Bar);
        Assert.Equal(-0.02, stroke.Beats, 9);
    }

    [Fact]
    public void A_stroke_without_a_place_is_kept_apart()
    {
        var hit = new Hit(AudioTime.FromSeconds(6.23), KitPiece.TomLow, 100, Level.FromDbfs(-10), 0.6);
        FoldedBar folded = FoldedBar.Fold(new Performance(OneSecondBeats, [hit]), seed: 1);
        Assert.Empty(folded.Places);
        var (piece, stroke) = Assert.Single(folded.Unwritten);
        Assert.Equal((KitPiece.TomLow, 2), (piece, stroke.Bar));
        Assert.Equal(1.23, stroke.Beats, 9);
    }

    private static Performance Snares(params double[] lateMs) => new(OneSecondBeats, lateMs.Select((ms, bar) =>
    {
        var place = new BarPosition(bar + 1, 2, Fraction.Zero);
        return new Hit(OneSecondBeats.TimeAt(place) + Seconds.FromMilliseconds(ms), KitPiece.Snare, 100, Level.FromDbfs(-10), 1) { Position = place };
    }));
}
