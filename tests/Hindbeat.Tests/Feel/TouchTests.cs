using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Tests.Feel;

/// <summary>Accents, ghosts, open hats.</summary>
public class TouchTests
{
    private static readonly Fraction And = new(1, 2);

    [Fact]
    public void Accents_are_told_against_the_pieces_own_mean_whatever_the_recording_level()
    {
        foreach (double gain in new[] { 0.0, -17 })
        {
            FeelReport report = FeelAnalysis.Measure(new Typed(100, 8)
                .EveryBeat(KitPiece.HatClosed, 0, 0, -14 + gain).EveryBeat(KitPiece.HatClosed, And, 0, -20 + gain).Make());
            Assert.All(report.Touch, figure => Assert.Equal(figure.Within == 0 ? 3 : -3, figure.Accent!.Value.Value, 1e-9));
        }
    }

    [Fact]
    public void A_ghost_and_a_backbeat_at_one_place_do_not_blur()
    {
        var typed = new Typed(100, 8).EveryBeat(KitPiece.HatClosed, 0, 0).EveryBar(KitPiece.Snare, 4, 0, 0, -9);
        for (int bar = 1; bar <= 8; bar++)
            typed.Hit(KitPiece.Snare, bar, 2, 0, 0, bar % 2 == 0 ? -31 : -10);

        FeelReport report = FeelAnalysis.Measure(typed.Make());

        var doubt = (TwoLoudnessesAtOnePlace)Assert.Single(report.Touch.Single(figure => figure.Piece == KitPiece.Snare && figure.Beat == 2).Doubts);
        Assert.Equal((-31.0, 4, -10.0, 4), (doubt.SoftDb, doubt.Soft, doubt.LoudDb, doubt.Loud));
        Assert.Empty(report.Touch.Single(figure => figure.Piece == KitPiece.Snare && figure.Beat == 4).Doubts);
        GhostFigure ghosts = Assert.Single(report.Ghosts);
        // Four ghosts at −31; four full at −10 and eight at −9 average −9.33.
        Assert.Equal(31 - (28.0 / 3), ghosts.Decibels.Value, 1e-9);
        Assert.Equal((4, 12), (ghosts.Ghosts, ghosts.FullStrokes));
    }

    [Fact]
    public void Evenly_spread_levels_are_no_ghosts()
    {
        var typed = new Typed(100, 12).EveryBeat(KitPiece.HatClosed, 0, 0);
        for (int bar = 1; bar <= 12; bar++)
            typed.Hit(KitPiece.Snare, bar, 2, 0, 0, -8 - (2 * bar));
        Assert.Empty(FeelAnalysis.Measure(typed.Make()).Ghosts);
    }

    [Fact]
    public void Open_hats_are_counted_place_by_place()
    {
        var typed = new Typed(100, 8).EveryBeat(KitPiece.HatClosed, 0, 0);
        for (int bar = 1; bar <= 8; bar++)
            typed.Hit(bar % 4 == 0 ? KitPiece.HatClosed : KitPiece.HatOpen, bar, 4, And, 0);

        OpennessFigure figure = Assert.Single(FeelAnalysis.Measure(typed.Make()).Openness);

        Assert.Equal((4, And, 6, 8), (figure.Beat, figure.Within, figure.Open, figure.Strokes));
        Assert.Equal(75, figure.Percent.Value, 1e-9);
    }

    /// <summary>Wilson's interval by hand: 6 of 8 gives 40.9 to 92.9 %; 0 of 10 gives 0 to 27.8 % (as printed in many tables of the score interval; from memory).</summary>
    [Theory]
    [InlineData(6, 8, 40.93, 92.85)]
    [InlineData(0, 10, 0, 27.75)]
    [InlineData(10, 10, 72.25, 100)]
    public void Shares_have_Wilsons_interval(int count, int of, double low, double high)
    {
        Estimate share = HatOpenness.Share(count, of);
        Assert.Equal(low, share.Low, 0.01);
        Assert.Equal(high, share.High, 0.01);
    }
}
