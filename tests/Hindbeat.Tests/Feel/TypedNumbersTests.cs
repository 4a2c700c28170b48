using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Tests.Feel;

/// <summary>Strokes typed in by hand must measure as typed.</summary>
public class TypedNumbersTests
{
    private static readonly Fraction Quarter = new(1, 4), Half = new(1, 2), ThreeQuarters = new(3, 4);

    [Fact]
    public void Clicks_with_12_ms_on_the_second_16th_measure_12_ms()
    {
        Performance performance = new Typed(90, 8)
            .EveryBeat(KitPiece.HatClosed, 0, 0).EveryBeat(KitPiece.HatClosed, Quarter, 12)
            .EveryBeat(KitPiece.HatClosed, Half, 0).EveryBeat(KitPiece.HatClosed, ThreeQuarters, 12).Make();

        SwingFigure swing = FeelAnalysis.Measure(performance).Swing.Single(figure => figure.Level == SwingLevel.Sixteenth);

        Assert.Equal(12.0, swing.DelayMs.Value, 1e-6);
        // Half a pair of 16ths at 90 bpm is 166.67 ms: (166.67 + 12) / (166.67 − 12), Câmara and Jensenius.
        Assert.Equal((166.6666667 + 12) / (166.6666667 - 12), swing.Ratio.Value, 1e-6);
        Assert.Equal(SwingVerdict.Swung, swing.Verdict);
        Assert.Equal(64, swing.Pairs);
    }

    [Fact]
    public void A_shuffle_of_8ths_at_two_to_one_measures_two()
    {
        double third = 60_000.0 / 120 / 6;
        Performance performance = new Typed(120, 8)
            .EveryBeat(KitPiece.Ride, 0, 0).EveryBeat(KitPiece.Ride, Half, third).EveryBeat(KitPiece.Kick, 0, 5).Make();

        SwingFigure swing = FeelAnalysis.Measure(performance).Swing.Single(figure => figure.Level == SwingLevel.Eighth);

        Assert.Equal(2.0, swing.Ratio.Value, 1e-6);
        Assert.Equal(200.0 / 3, swing.SharePercent.Value, 1e-5);
    }

    [Fact]
    public void A_shuffle_written_in_triplets_measures_the_same_as_one_written_straight()
    {
        Performance performance = new Typed(120, 8)
            .EveryBeat(KitPiece.Ride, 0, 0).EveryBeat(KitPiece.Ride, new Fraction(2, 3), -6).Make();

        SwingFigure swing = Assert.Single(FeelAnalysis.Measure(performance).Swing);

        double d = (500.0 / 6) - 6;
        Assert.Equal((250 + d) / (250 - d), swing.Ratio.Value, 1e-6);
    }

    [Theory]
    [InlineData(70.0, 32)]
    // Where the off-beats lie near the middle, triplets beside them are a fill and no swing.
    [InlineData(4.0, 16)]
    public void In_a_shuffle_the_last_third_of_a_triplet_is_the_short_of_a_pair(double offBeatLate, int pairs)
    {
        // Beats 1 and 3 in eighths, 2 and 4 with the middle triplet struck; every short sounds 70 ms after the middle of the beat, which is 13.3 ms before its third.
        Typed typed = new(120, 8);
        typed.EveryBeat(KitPiece.Ride, 0, 0);
        foreach (int beat in (int[])[1, 3])
            typed.EveryBar(KitPiece.Ride, beat, Half, offBeatLate);
        foreach (int beat in (int[])[2, 4])
            typed.EveryBar(KitPiece.Ride, beat, new Fraction(1, 3), 0).EveryBar(KitPiece.Ride, beat, new Fraction(2, 3), 70 - (500.0 / 6));

        SwingFigure swing = FeelAnalysis.Measure(typed.Make()).Swing.Single(figure => figure.Level == SwingLevel.Eighth);

        Assert.Equal((250 + offBeatLate) / (250 - offBeatLate), swing.Ratio.Value, 1e-6);
        Assert.Equal(pairs, swing.Pairs);
    }

    [Fact]
    public void Even_triplets_are_not_swing()
    {
        Performance performance = new Typed(120, 8).EveryBeat(KitPiece.Ride, 0, 0)
            .EveryBeat(KitPiece.Ride, new Fraction(1, 3), 0).EveryBeat(KitPiece.Ride, new Fraction(2, 3), 0).Make();

        Assert.Empty(FeelAnalysis.Measure(performance).Swing);
    }

    [Fact]
    public void A_kick_18_ms_behind_the_hats_lies_back_18_ms_and_2_7_percent_of_a_beat()
    {
        Performance performance = new Typed(90, 8)
            .EveryBeat(KitPiece.HatClosed, 0, -4).EveryBeat(KitPiece.HatClosed, Half, -4)
            .EveryBar(KitPiece.Kick, 1, 0, 14).EveryBar(KitPiece.Kick, 3, 0, 14).EveryBar(KitPiece.Snare, 2, 0, 2).EveryBar(KitPiece.Snare, 4, 0, 2).Make();

        FeelReport report = FeelAnalysis.Measure(performance);

        Assert.Equal(FeelReference.TimekeepingHand, report.Reference);
        Assert.Equal("closed hat", report.ReferenceName);
        LayBackFigure kick = report.LayBack.Single(figure => figure.Piece == KitPiece.Kick);
        Assert.Equal(18.0, kick.Milliseconds.Value, 1e-6);
        // science.md: 10 ms is 1.5 % of a beat at 90 bpm, so 18 ms is 2.7 %.
        Assert.Equal(0.027, kick.Beats, 1e-6);
        Assert.True(kick.Identified);
        Assert.Equal(6.0, report.LayBack.Single(figure => figure.Piece == KitPiece.Snare).Milliseconds.Value, 1e-6);
        Assert.False(report.LayBack.Single(figure => figure.Piece == KitPiece.HatClosed).Identified);
    }

    [Fact]
    public void Alternating_6_ms_early_and_late_is_a_looseness_of_6_ms()
    {
        var typed = new Typed(100, 16).EveryBeat(KitPiece.HatClosed, 0, 0).EveryBeat(KitPiece.HatClosed, Half, 0);
        for (int bar = 1; bar <= 16; bar++)
        {
            // Each place is six early in eight bars, six late in eight: the sum of squares is 16 · 36 a place.
            typed.Hit(KitPiece.Snare, bar, 2, 0, bar % 2 == 0 ? 6 : -6);
            typed.Hit(KitPiece.Snare, bar, 4, 0, bar % 2 == 0 ? -6 : 6);
        }

        LoosenessFigure snare = FeelAnalysis.Measure(typed.Make()).Looseness.Single(figure => figure.Piece == KitPiece.Snare);

        // 32 strokes less two place means; the slow curve costs each stroke 9 knots in 160 strokes (docs/measures/looseness.md).
        Assert.Equal(6 * Math.Sqrt(32.0 / 30), snare.Milliseconds.Value, 0.25);
    }

    [Fact]
    public void A_backbeat_of_minus_8_and_ghosts_of_minus_26_dB_have_those_levels()
    {
        Performance performance = new Typed(90, 8).EveryBeat(KitPiece.HatClosed, 0, 0)
            .EveryBar(KitPiece.Snare, 2, 0, 0, -8).EveryBar(KitPiece.Snare, 2, ThreeQuarters, 0, -26).Make();

        IReadOnlyList<TouchFigure> touch = FeelAnalysis.Measure(performance).Touch;

        Assert.Equal(-8, touch.Single(figure => figure.Piece == KitPiece.Snare && figure.Within == 0).Level.Value, 1e-9);
        Assert.Equal(-26, touch.Single(figure => figure.Piece == KitPiece.Snare && figure.Within == ThreeQuarters).Level.Value, 1e-9);
    }

    [Fact]
    public void A_steady_click_drifts_by_nothing_and_a_speeding_one_by_its_slope()
    {
        Performance steady = new Typed(96, 8).EveryBeat(KitPiece.HatClosed, 0, 0).Make();
        Assert.Equal(0, FeelAnalysis.Measure(steady).Tempo.DriftBpmPerMinute.Value, 1e-6);
        Assert.Equal(96, FeelAnalysis.Measure(steady).Tempo.Bpm.Value, 1e-9);

        var invented = new InventedFeel { Tempo = 96, Drift = 5, Bars = 16 };
        invented.PlayEvery(KitPiece.HatClosed, -20, 0, Half);
        Assert.Equal(5, FeelAnalysis.Measure(invented.Make(new Random(1))).Tempo.DriftBpmPerMinute.Value, 0.02);
    }

    [Fact]
    public void In_six_eight_the_second_16th_swings_and_no_8th_does()
    {
        var six = new Typed(60, 8, meter: new Meter(6, 8));
        for (int eighth = 0; eighth < 3; eighth++)
            six.EveryBeat(KitPiece.HatClosed, new Fraction(eighth, 3), 0).EveryBeat(KitPiece.HatClosed, new Fraction((2 * eighth) + 1, 6), 20);

        SwingFigure swing = Assert.Single(FeelAnalysis.Measure(six.Make()).Swing);

        // A dotted quarter of 1000 ms: a pair of 16ths lasts 333.3 ms.
        Assert.Equal(SwingLevel.Sixteenth, swing.Level);
        Assert.Equal((166.6666667 + 20) / (166.6666667 - 20), swing.Ratio.Value, 1e-6);
    }

    [Fact]
    public void One_misheard_stroke_moves_nothing()
    {
        Typed typed = new Typed(90, 8).EveryBeat(KitPiece.HatClosed, 0, 0).EveryBeat(KitPiece.HatClosed, Half, 0).EveryBar(KitPiece.Kick, 1, 0, 10).EveryBar(KitPiece.Kick, 3, 0, 10);
        typed.Hit(KitPiece.Kick, 3, 2, 0, 90);

        FeelReport report = FeelAnalysis.Measure(typed.Make());

        Assert.Equal(10.0, report.LayBack.Single(figure => figure.Piece == KitPiece.Kick).Milliseconds.Value, 1e-6);
    }
}
