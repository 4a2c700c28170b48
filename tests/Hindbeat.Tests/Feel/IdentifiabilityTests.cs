using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Tests.Feel;

/// <summary>What a recording can and cannot tell, on patterns of the trade (common practice, no source).</summary>
public class IdentifiabilityTests
{
    private static readonly Fraction E = new(1, 4), And = new(1, 2), A = new(3, 4);

    private static InventedFeel HandsInEighths(double swing16, params (int, Fraction)[] kick)
    {
        var feel = new InventedFeel { Tempo = 92, Bars = 12, Swing16 = swing16 };
        feel.PlayEvery(KitPiece.HatClosed, -20, 0, And).Play(KitPiece.Snare, -10, (2, 0), (4, 0)).Play(KitPiece.Kick, -8, kick);
        foreach (KitPiece piece in new[] { KitPiece.HatClosed, KitPiece.Snare, KitPiece.Kick })
            feel.LoosenessMs[piece] = 4;
        feel.LayBackMs[KitPiece.Kick] = 14;
        return feel;
    }

    [Fact]
    public void A_kick_that_alone_carries_the_16ths_at_straight_and_swung_places_tells_both()
    {
        FeelReport report = FeelAnalysis.Measure(HandsInEighths(1.5, (1, 0), (1, A), (3, 0), (3, E)).Make(new Random(11)));

        SwingFigure swing = Assert.Single(report.Swing, figure => figure.Level == SwingLevel.Sixteenth);
        Assert.Equal([KitPiece.Kick], swing.Pieces);
        Assert.Equal(SwingVerdict.Swung, swing.Verdict);
        Holds(1.5, swing.Ratio);
        LayBackFigure kick = report.LayBack.Single(figure => figure.Piece == KitPiece.Kick);
        Assert.True(kick.Identified);
        Holds(14, kick.Milliseconds);
    }

    [Fact]
    public void A_kick_at_swung_places_only_gives_one_sum_and_says_what_would_settle_it()
    {
        FeelReport report = FeelAnalysis.Measure(HandsInEighths(1.5, (1, A), (3, E), (3, A)).Make(new Random(12)));

        LayBackFigure kick = report.LayBack.Single(figure => figure.Piece == KitPiece.Kick);
        Assert.False(kick.Identified);
        double sum = 14 + SwingRatio.ToDelay(60_000.0 / 92 / 4, 1.5);
        Holds(sum, kick.Milliseconds);
        Assert.Contains("swing and lay-back in one", kick.Doubts.OfType<SwingAndLayBackMixed>().Single().Text, StringComparison.Ordinal);
        Assert.Contains("on the beat would settle it", kick.Doubts[0].Text, StringComparison.Ordinal);
        SwingFigure swing = Assert.Single(report.Swing, figure => figure.Level == SwingLevel.Sixteenth);
        Assert.Equal(SwingVerdict.Undecided, swing.Verdict);
        Assert.Single(swing.Doubts.OfType<SwingAndLayBackMixed>());
    }

    [Fact]
    public void A_sum_names_what_would_be_left_if_the_kick_swung_as_the_hats_do()
    {
        var feel = new InventedFeel { Tempo = 92, Bars = 12, Swing16 = 1.5 };
        feel.PlayEvery(KitPiece.HatClosed, -20, 0, E, And, A).Play(KitPiece.Kick, -8, (1, A), (3, E));
        feel.LoosenessMs[KitPiece.HatClosed] = feel.LoosenessMs[KitPiece.Kick] = 3;
        feel.LayBackMs[KitPiece.Kick] = 14;

        LayBackFigure kick = FeelAnalysis.Measure(feel.Make(new Random(2))).LayBack.Single(figure => figure.Piece == KitPiece.Kick);

        Assert.False(kick.Identified);
        Assert.Equal(14, Assert.IsType<SwingAndLayBackMixed>(kick.Doubts[0]).IfSwungAlikeMs!.Value, 2.5);
    }

    [Theory]
    [InlineData(1.05)]
    [InlineData(1.10)]
    [InlineData(1.15)]
    public void A_swing_so_slight_that_an_ear_doubts_it_is_measured_and_said_to_be_below_hearing(double ratio)
    {
        var feel = new InventedFeel { Tempo = 96, Bars = 24, Swing16 = ratio };
        feel.PlayEvery(KitPiece.HatClosed, -20, 0, E, And, A).Play(KitPiece.Snare, -10, (2, 0), (4, 0));
        feel.LoosenessMs[KitPiece.HatClosed] = feel.LoosenessMs[KitPiece.Snare] = 5;

        SwingFigure swing = FeelAnalysis.Measure(feel.Make(new Random(4))).Swing.First(figure => figure.Level == SwingLevel.Sixteenth);

        Holds(ratio, swing.Ratio);
        Assert.True(swing.Ratio.HalfWidth < 0.03);
        Assert.Equal(SwingVerdict.Swung, swing.Verdict);
        Assert.Single(swing.Doubts.OfType<SwingBelowHearing>());
    }

    [Fact]
    public void A_short_loose_passage_says_which_swing_it_could_have_shown()
    {
        var feel = new InventedFeel { Tempo = 96, Bars = 4, Swing16 = 1.08 };
        feel.PlayEvery(KitPiece.HatClosed, -20, 0, E, And, A);
        feel.LoosenessMs[KitPiece.HatClosed] = 14;

        SwingFigure swing = FeelAnalysis.Measure(feel.Make(new Random(8))).Swing.First(figure => figure.Level == SwingLevel.Sixteenth);

        Assert.Equal(SwingVerdict.Undecided, swing.Verdict);
        Assert.InRange(swing.SmallestRatioShown, 1.08, 1.5);
        Assert.Contains("would show a swing of", swing.Doubts.OfType<SwingUndecided>().Single().Text, StringComparison.Ordinal);
    }

    [Fact]
    public void A_backbeat_displaced_to_the_second_half_of_beat_2_is_no_swing()
    {
        var feel = new InventedFeel { Tempo = 92, Bars = 12 };
        feel.PlayEvery(KitPiece.HatClosed, -20, 0, And).Play(KitPiece.Snare, -10, (2, And), (4, 0)).Play(KitPiece.Kick, -8, (1, 0), (3, 0));
        foreach (KitPiece piece in new[] { KitPiece.HatClosed, KitPiece.Snare, KitPiece.Kick })
            feel.LoosenessMs[piece] = 4;
        feel.LayBackMs[KitPiece.Snare] = 9;

        FeelReport report = FeelAnalysis.Measure(feel.Make(new Random(5)));

        Assert.Equal(SwingVerdict.Straight, report.Swing[0].Verdict);
        LayBackFigure snare = report.LayBack.Single(figure => figure.Piece == KitPiece.Snare);
        Assert.True(snare.Identified);
        Holds(9, snare.Milliseconds);
        Assert.Equal(24, snare.Hits);
    }

    [Fact]
    public void A_backbeat_that_is_always_displaced_is_measured_where_it_plays_when_the_8ths_are_straight()
    {
        var feel = new InventedFeel { Tempo = 92, Bars = 12 };
        feel.PlayEvery(KitPiece.HatClosed, -20, 0, And).Play(KitPiece.Snare, -10, (2, And), (4, And)).Play(KitPiece.Kick, -8, (1, 0), (3, 0));
        foreach (KitPiece piece in new[] { KitPiece.HatClosed, KitPiece.Snare, KitPiece.Kick })
            feel.LoosenessMs[piece] = 4;
        feel.LayBackMs[KitPiece.Snare] = 9;

        FeelReport report = FeelAnalysis.Measure(feel.Make(new Random(5)));

        LayBackFigure snare = report.LayBack.Single(figure => figure.Piece == KitPiece.Snare);
        Assert.True(snare.Identified);
        Assert.Equal(24, snare.Hits);
        Holds(9, snare.Milliseconds);
    }

    [Fact]
    public void Grace_strokes_before_a_backbeat_do_not_make_it_early()
    {
        var typed = new Typed(92, 8).EveryBeat(KitPiece.HatClosed, 0, 0);
        for (int bar = 1; bar <= 8; bar++)
        {
            foreach (int beat in new[] { 2, 4 })
                typed.Hit(KitPiece.Snare, bar, beat, 0, -32, -24).Hit(KitPiece.Snare, bar, beat, 0, 6, -8);
        }

        FeelReport report = FeelAnalysis.Measure(typed.Make());

        Assert.Equal(6, report.LayBack.Single(figure => figure.Piece == KitPiece.Snare).Milliseconds.Value, 1e-6);
        Assert.All(report.Touch.Where(touch => touch.Piece == KitPiece.Snare), touch => Assert.Equal(-8, touch.Level.Value, 1e-9));
        Assert.Equal(38, Assert.Single(report.Flams).WidthMs.Value, 1e-6);
        Assert.Empty(report.Ghosts);
    }

    /// <summary>A 16th written as an 8th lies a whole 16th off (163 ms at 92 bpm), which no lay-back is.</summary>
    [Fact]
    public void Strokes_written_a_16th_off_are_left_out_and_counted()
    {
        var typed = new Typed(92, 8).EveryBeat(KitPiece.HatClosed, 0, 0).EveryBeat(KitPiece.HatClosed, And, 0).EveryBar(KitPiece.Kick, 1, 0, 5);
        typed.EveryBar(KitPiece.Kick, 3, And, -60_000.0 / 92 / 4);

        FeelReport report = FeelAnalysis.Measure(typed.Make());

        Assert.Equal(5, report.LayBack.Single(figure => figure.Piece == KitPiece.Kick).Milliseconds.Value, 1e-6);
        Assert.Equal(8, Assert.Single(report.Doubts.OfType<StrokesWithoutPlace>()).Strokes);
        Assert.Equal(1, report.Swing[0].Ratio.Value, 1e-6);
    }

    /// <summary>A hand that moves from the hats to the ride in the middle still keeps time throughout (common practice, no source).</summary>
    [Fact]
    public void A_hand_that_moves_from_hats_to_ride_is_one_reference()
    {
        var typed = new Typed(92, 12);
        for (int bar = 1; bar <= 12; bar++)
        {
            for (int beat = 1; beat <= 4; beat++)
                typed.Hit(bar <= 6 ? KitPiece.HatClosed : KitPiece.Ride, bar, beat, 0, 0).Hit(KitPiece.Kick, bar, beat, 0, 11);
        }

        FeelReport report = FeelAnalysis.Measure(typed.Make());

        Assert.Equal((FeelReference.TimekeepingHand, "closed hat and ride"), (report.Reference, report.ReferenceName));
        Assert.Equal(11, report.LayBack.Single(figure => figure.Piece == KitPiece.Kick).Milliseconds.Value, 1e-6);
    }

    /// <summary>√((1.5 · half)² + (1.96 · 2 ms)²) to each side, by hand: ±4 ms become ±√(36 + 15.37) = ±7.17 ms.</summary>
    [Fact]
    public void Hearing_widens_an_interval_to_each_side()
    {
        Estimate wide = HearingError.Widen(new Estimate(10, 6, 14), 1.5, 2);
        Assert.Equal((10, 10 - 7.167, 10 + 7.167), (wide.Value, Math.Round(wide.Low, 3), Math.Round(wide.High, 3)));
        var feel = new InventedFeel { Tempo = 92, Bars = 12 };
        feel.Groove();
        Performance performance = feel.Make(new Random(5));
        FeelReport exact = FeelAnalysis.Measure(performance), heard = FeelAnalysis.Measure(performance, new FeelOptions { Hearing = HearingError.Measured });
        for (int i = 0; i < exact.LayBack.Count; i++)
        {
            Assert.Equal(exact.LayBack[i].Milliseconds.Value, heard.LayBack[i].Milliseconds.Value, 1e-9);
            Assert.True(heard.LayBack[i].Milliseconds.HalfWidth > exact.LayBack[i].Milliseconds.HalfWidth || exact.LayBack[i].Piece == KitPiece.HatClosed);
        }
    }

    [Fact]
    public void A_half_time_shuffle_swings_its_16ths_and_its_ghosts_between_are_no_swing()
    {
        // Hats on the swung 16ths written as triplets, ghosts on the middle of each triplet, backbeat on 3.
        var typed = new Typed(72, 8);
        foreach (Fraction hat in new[] { new Fraction(0), new Fraction(1, 3), And, new Fraction(5, 6) })
            typed.EveryBeat(KitPiece.HatClosed, hat, hat.Denominator is 1 or 2 ? 0 : -3);
        foreach (Fraction ghost in new[] { new Fraction(1, 6), new Fraction(2, 3) })
            typed.EveryBeat(KitPiece.Snare, ghost, 0, -28);
        typed.EveryBar(KitPiece.Snare, 3, 0, 0);

        SwingFigure swing = FeelAnalysis.Measure(typed.Make()).Swing.First(figure => figure.Level == SwingLevel.Sixteenth);

        double half = 60_000.0 / 72 / 4, d = (60_000.0 / 72 * (1.0 / 3 - 0.25)) - 3;
        Assert.Equal([KitPiece.HatClosed], swing.Pieces);
        Assert.Equal((half + d) / (half - d), swing.Ratio.Value, 1e-6);
    }

    [Fact]
    public void A_snare_late_on_2_and_on_time_on_4_shows_by_place()
    {
        var feel = new InventedFeel { Tempo = 92, Bars = 16 };
        feel.PlayEvery(KitPiece.HatClosed, -20, 0, And).Play(KitPiece.Snare, -10, (2, 0), (4, 0)).Play(KitPiece.Kick, -8, (1, 0), (3, 0));
        foreach (KitPiece piece in new[] { KitPiece.HatClosed, KitPiece.Snare, KitPiece.Kick })
            feel.LoosenessMs[piece] = 4;
        feel.HabitMs[(KitPiece.Snare, 2, 0)] = 18;

        FeelReport report = FeelAnalysis.Measure(feel.Make(new Random(6)));

        PlaceFigure two = report.Places.Single(place => place.Piece == KitPiece.Snare && place.Beat == 2);
        PlaceFigure four = report.Places.Single(place => place.Piece == KitPiece.Snare && place.Beat == 4);
        Holds(18, two.Milliseconds);
        Holds(0, four.Milliseconds);
        Assert.True(two.Habit.Low > 0 && four.Habit.High < 0);
        LoosenessFigure snare = report.Looseness.Single(figure => figure.Piece == KitPiece.Snare);
        Holds(4, snare.Milliseconds);
        // Habit ±9 ms against 4 ms of spread: 81 / (81 + 16) = 84 % of the variance.
        Assert.Equal(0.84, snare.HabitShare!.Value, 0.08);
        Assert.Contains(FeelWords.Describe(report), sentence => sentence.StartsWith("On beat 2 the snare comes", StringComparison.Ordinal));
    }

    [Fact]
    public void The_whole_kit_late_is_seen_against_a_click_only()
    {
        static Performance Make(PulseSource source)
        {
            var typed = new Typed(92, 8, source);
            typed.EveryBeat(KitPiece.HatClosed, 0, 22).EveryBeat(KitPiece.HatClosed, And, 22).EveryBar(KitPiece.Kick, 1, 0, 22);
            return typed.Make();
        }

        FeelReport click = FeelAnalysis.Measure(Make(PulseSource.Click), new FeelOptions { Reference = FeelReference.Click });
        Assert.All(click.LayBack, figure => Assert.Equal(22, figure.Milliseconds.Value, 1e-6));
        Assert.All(click.LayBack, figure => Assert.True(figure.Identified));
        Assert.All(FeelAnalysis.Measure(Make(PulseSource.Tracked)).LayBack, figure => Assert.Equal(0, figure.Milliseconds.Value, 1e-6));
        InputException refused = Assert.Throws<InputException>(() => FeelAnalysis.Measure(Make(PulseSource.Tracked), new FeelOptions { Reference = FeelReference.Click }));
        Assert.Contains("no click", refused.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Without_a_timekeeping_hand_the_whole_kit_is_the_reference_and_says_so()
    {
        FeelReport report = FeelAnalysis.Measure(new Typed(92, 8).EveryBar(KitPiece.Kick, 1, 0, 0).EveryBar(KitPiece.Snare, 2, 0, 8).EveryBar(KitPiece.Snare, 4, 0, 8).Make());

        Assert.Equal(FeelReference.WholeKit, report.Reference);
        Assert.Contains(report.Doubts, doubt => doubt is ReferenceUnsteady);
        // Eight kicks at 0 and sixteen snares at 8 average 5.33.
        Assert.Equal(-16.0 / 3, report.LayBack.Single(figure => figure.Piece == KitPiece.Kick).Milliseconds.Value, 1e-6);
    }

    [Fact]
    public void A_piece_that_plays_in_two_ways_is_told_so()
    {
        var typed = new Typed(92, 16).EveryBeat(KitPiece.HatClosed, 0, 0).EveryBeat(KitPiece.HatClosed, And, 0);
        var random = new Random(3);
        for (int bar = 1; bar <= 16; bar++)
        {
            foreach (int beat in new[] { 2, 4 })
                typed.Hit(KitPiece.Snare, bar, beat, 0, (bar * 7 / 3 % 2 == 0 ? 0 : 30) + (2 * InventedFeel.Normal(random)));
        }

        LoosenessFigure snare = FeelAnalysis.Measure(typed.Make()).Looseness.Single(figure => figure.Piece == KitPiece.Snare);

        Assert.Equal(30, Assert.Single(snare.Doubts.OfType<SpreadHasTwoModes>()).GapMs, 3.0);
    }

    [Fact]
    public void No_placed_stroke_is_an_input_error_that_names_the_mistake()
    {
        Pulse pulse = Pulse.Steady(Meter.FourFour, Bpm.Of(100), AudioTime.Zero, 8);
        Assert.Contains("no strokes", Assert.Throws<InputException>(() => FeelAnalysis.Measure(new Performance(pulse, []))).Message, StringComparison.Ordinal);
        var unplaced = new Performance(pulse, [new Hit(AudioTime.Zero, KitPiece.Kick, 90, Level.FromDbfs(-6), 1)]);
        Assert.Contains("find the pulse", Assert.Throws<InputException>(() => FeelAnalysis.Measure(unplaced)).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_single_stroke_gives_an_honest_empty_report()
    {
        FeelReport report = FeelAnalysis.Measure(new Typed(100, 2).Hit(KitPiece.Kick, 1, 1, 0, 0).Make());

        Assert.Empty(report.LayBack);
        Assert.Empty(report.Swing);
        Assert.Contains(report.Doubts, doubt => doubt is TooFewBars);
        Assert.Contains(report.Doubts, doubt => doubt is TooFewStrokes);
        Assert.True(report.Tempo.DriftBpmPerMinute is { Low: < -10, High: > 10 });
        Assert.NotEmpty(FeelWords.Describe(report));
    }

    /// <summary>One draw may miss its 95 % interval; 1.5 half widths it misses once in 300 (CoverageTests hold the 95 %).</summary>
    private static void Holds(double truth, Estimate estimate) =>
        Assert.True(Math.Abs(truth - estimate.Value) <= 1.5 * estimate.HalfWidth, $"{truth} lies far from {estimate.Value:0.000} ({estimate.Low:0.000} to {estimate.High:0.000})");
}
