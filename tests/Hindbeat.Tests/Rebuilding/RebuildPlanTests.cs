using CsCheck;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Units;

namespace Hindbeat.Tests.Rebuilding;

public class RebuildPlanTests
{
    private static readonly Gen<double> Share = Gen.Double[0, 2];

    private static readonly Gen<Dials> AnyDials = Gen.Select(Share, Share, Share, Share, Share, Share,
        (swing, layBack, habits, looseness, touch, tempo) => new Dials { Swing = swing, LayBack = layBack, Habits = habits, Looseness = looseness, Touch = touch, Tempo = tempo });

    [Fact]
    public void As_played_is_each_hits_own_time_and_velocity()
    {
        (Performance performance, FeelReport report) = Passage(7);
        IReadOnlyList<PlannedStroke> plan = RebuildPlan.Make(performance, report, Dials.AsPlayed);
        Assert.Equal(performance.Hits.Count, plan.Count);
        for (int i = 0; i < plan.Count; i++)
        {
            Assert.Equal(performance.Hits[i].Time.TotalSeconds, plan[i].Time.TotalSeconds, 1e-12);
            Assert.Equal(performance.Hits[i].Piece, plan[i].Piece);
            Assert.Equal(performance.Hits[i].Velocity, plan[i].Velocity, 1e-9);
        }
    }

    [Fact]
    public void As_written_is_the_written_time_on_a_steady_tempo()
    {
        (Performance performance, FeelReport report) = Passage(7);
        double beat = performance.Pulse.MeanTempo.Beat.Value;
        double first = performance.Pulse.Beats[0].Time.TotalSeconds;
        IReadOnlyList<PlannedStroke> plan = RebuildPlan.Make(performance, report, Dials.AsWritten);
        for (int i = 0; i < plan.Count; i++)
        {
            BarPosition place = performance.Hits[i].Position!.Value;
            double beats = ((place.Bar - 1) * 4) + (place.Beat - 1) + place.Within.ToDouble();
            Assert.Equal(first + (beats * beat), plan[i].Time.TotalSeconds, 1e-12);
        }
    }

    // Whatever the report says, right or wrong, all dials at 1 give the performance back.
    [Fact]
    public void As_played_holds_for_any_report() =>
        Gen.Select(Gen.Double[0.5, 4], Gen.Double[-60, 60]).Sample((ratio, kickMs) =>
        {
            (Performance performance, _) = Passage(3);
            IReadOnlyList<PlannedStroke> plan = RebuildPlan.Make(performance, Report(performance, ratio, kickMs, 0), Dials.AsPlayed);
            return plan.Zip(performance.Hits).All(pair => Math.Abs(pair.First.Time.TotalSeconds - pair.Second.Time.TotalSeconds) < 1e-12);
        }, iter: 50);

    // Each dial alone moves every stroke along a straight line.
    [Fact]
    public void Each_dial_is_linear() =>
        Gen.Select(AnyDials, Gen.Int[0, 4], Gen.Double[0, 2]).Sample((dials, which, share) =>
        {
            (Performance performance, FeelReport report) = Passage(5);
            IReadOnlyList<PlannedStroke> low = RebuildPlan.Make(performance, report, Turn(dials, which, 0));
            IReadOnlyList<PlannedStroke> high = RebuildPlan.Make(performance, report, Turn(dials, which, 2));
            IReadOnlyList<PlannedStroke> between = RebuildPlan.Make(performance, report, Turn(dials, which, share));
            return Enumerable.Range(0, low.Count).All(i =>
                Math.Abs(low[i].Time.TotalSeconds + (share / 2 * (high[i].Time.TotalSeconds - low[i].Time.TotalSeconds)) - between[i].Time.TotalSeconds) < 1e-10);
        }, iter: 40);

    [Fact]
    public void Swing_alone_gives_the_measured_ratio()
    {
        (Performance performance, FeelReport report) = Passage(2);
        foreach (double share in new[] { 0, 0.5, 1, 1.5 })
        {
            IReadOnlyList<PlannedStroke> plan = RebuildPlan.Make(performance, report, Dials.AsWritten with { Swing = share });
            double p = 0.5 + (share * ((1.62 / 2.62) - 0.5));
            Assert.Equal(p / (1 - p), RatioOf(performance, plan), 1e-9);
        }
    }

    [Fact]
    public void A_swing_set_by_hand_is_the_swing_that_comes()
    {
        (Performance performance, FeelReport report) = Passage(2);
        Dials dials = Dials.AsWritten with { Swing = 1, SwingTo = new SwingSetting(SwingLevel.Sixteenth, 1.3) };
        Assert.Equal(1.3, RatioOf(performance, RebuildPlan.Make(performance, report, dials)), 1e-9);
    }

    [Fact]
    public void Lay_back_moves_its_piece_and_no_other()
    {
        (Performance performance, FeelReport report) = Passage(2);
        IReadOnlyList<PlannedStroke> written = RebuildPlan.Make(performance, report, Dials.AsWritten);
        IReadOnlyList<PlannedStroke> laidBack = RebuildPlan.Make(performance, report, Dials.LaidBackOnly);
        AssertMoved(performance, written, laidBack, piece => piece switch { KitPiece.Kick => 18, KitPiece.Snare => 6, KitPiece.TomHigh or KitPiece.TomLow => 6, _ => 0 });

        Dials byHand = Dials.LaidBackOnly with
        {
            Pieces = new Dictionary<KitPiece, PieceDial>
            {
                [KitPiece.Kick] = new(LayBackTo: Seconds.FromMilliseconds(-15)),
                [KitPiece.Snare] = new(LayBack: 2),
                [KitPiece.HatOpen] = new(LayBackTo: Seconds.FromMilliseconds(4)),
            },
        };
        AssertMoved(performance, written, RebuildPlan.Make(performance, report, byHand), piece => piece switch
        {
            KitPiece.Kick => -15,
            KitPiece.Snare => 12,
            KitPiece.HatOpen => 4,
            KitPiece.TomHigh or KitPiece.TomLow => 6,
            _ => 0,
        });
    }

    // A repeated deviation is a habit, a single one is chance: +9 ms on beat 2 of both bars, −4 and +4 on beat 4.
    [Fact]
    public void Habit_and_chance_are_told_apart_by_repetition()
    {
        Pulse pulse = Pulse.Steady(Meter.FourFour, Bpm.Of(120), AudioTime.Zero, 8);
        Hit[] hits =
        [
            At(pulse, KitPiece.Snare, 1, 2, 9), At(pulse, KitPiece.Snare, 2, 2, 9),
            At(pulse, KitPiece.Snare, 1, 4, -4), At(pulse, KitPiece.Snare, 2, 4, 4),
            At(pulse, KitPiece.Snare, 1, 3, 5),
        ];
        var performance = new Performance(pulse, hits);
        FeelReport none = Report(performance, 1, 0, 0);
        Assert.Equal([9, 0, 0, 9, 0], Deviations(performance, RebuildPlan.Make(performance, none, Dials.AsWritten with { Habits = 1 })), Close);
        Assert.Equal([0, 5, -4, 0, 4], Deviations(performance, RebuildPlan.Make(performance, none, Dials.AsWritten with { Looseness = 1 })), Close);
    }

    [Fact]
    public void A_hit_without_a_place_stays_with_its_neighbour()
    {
        Pulse pulse = Pulse.Steady(Meter.FourFour, Bpm.Of(120), AudioTime.Zero, 8);
        Hit main = At(pulse, KitPiece.Snare, 1, 2, 12);
        Hit grace = main with { Time = main.Time - Seconds.FromMilliseconds(30), Position = null };
        Hit later = At(pulse, KitPiece.Kick, 1, 3, -8);
        var performance = new Performance(pulse, [main, grace, later]);
        IReadOnlyList<PlannedStroke> plan = RebuildPlan.Make(performance, Report(performance, 1, 0, 0), Dials.AsWritten);
        Assert.Equal(0.470, plan[0].Time.TotalSeconds, 1e-9);
        Assert.Equal(0.500, plan[1].Time.TotalSeconds, 1e-9);

        var placeless = new Performance(pulse, [grace]);
        Assert.Equal(grace.Time, RebuildPlan.Make(placeless, Report(placeless, 1, 0, 0), Dials.AsWritten)[0].Time);
    }

    // The ride's own 2.6 leaves the kit's 1.5 outside its interval and stands; the snare's wide one does not.
    [Fact]
    public void A_piece_that_surely_swings_differently_keeps_its_own_ratio()
    {
        SwingFigure Figure(KitPiece[] pieces, double ratio, double low, double high, int pairs, SwingVerdict verdict = SwingVerdict.Swung) =>
            new(SwingLevel.Eighth, pieces, new Estimate(ratio, low, high), pairs, verdict, []);
        SwingOffsets swing = SwingOffsets.Measured(Meter.FourFour,
        [
            Figure([KitPiece.Ride, KitPiece.Snare, KitPiece.Kick], 1.5, 1.4, 1.6, 60),
            Figure([KitPiece.Ride], 2.6, 2.4, 2.8, 30),
            Figure([KitPiece.Snare], 1.8, 1.3, 2.4, 9),
            Figure([KitPiece.Kick], 1.02, 0.97, 1.07, 12, SwingVerdict.Straight),
        ]);
        var and = new BarPosition(1, 1, new Fraction(1, 2));
        Assert.Equal((2.6 / 3.6) - 0.5, swing.InBeats(and, KitPiece.Ride), 1e-12);
        Assert.Equal((1.5 / 2.5) - 0.5, swing.InBeats(and, KitPiece.Snare), 1e-12);
        Assert.Equal((1.5 / 2.5) - 0.5, swing.InBeats(and, KitPiece.HatClosed), 1e-12);
        Assert.Equal(0, swing.InBeats(and, KitPiece.Kick));
    }

    // Triplets stay put; the second 8th of a swung pair goes to 2/3 of the beat at 2 : 1; a 16th beside it moves half as far.
    [Fact]
    public void Swung_eighths_leave_triplets_alone()
    {
        var report = new List<SwingFigure> { new(SwingLevel.Eighth, [KitPiece.Ride], new Estimate(2, 2, 2), 20, SwingVerdict.Swung, []) };
        SwingOffsets swing = SwingOffsets.Measured(Meter.FourFour, report);
        Assert.Equal(1 / 6.0, swing.InBeats(new BarPosition(1, 2, new Fraction(1, 2)), KitPiece.Ride), 1e-12);
        Assert.Equal(1 / 12.0, swing.InBeats(new BarPosition(1, 2, new Fraction(1, 4)), KitPiece.Ride), 1e-12);
        Assert.Equal(0, swing.InBeats(new BarPosition(1, 2, new Fraction(1, 3)), KitPiece.Ride));
        Assert.Equal(0, swing.InBeats(new BarPosition(1, 2, new Fraction(2, 3)), KitPiece.Ride));
        Assert.Equal(0, swing.InBeats(new BarPosition(1, 3, 0), KitPiece.Ride));
    }

    // In 2/2 the beat is a half note: its second 8th is a quarter into the beat and moves half as many beats.
    [Fact]
    public void Swing_follows_the_note_value_not_the_beat()
    {
        var report = new List<SwingFigure> { new(SwingLevel.Eighth, [KitPiece.Ride], new Estimate(2, 2, 2), 20, SwingVerdict.Swung, []) };
        Assert.Equal(1 / 12.0, SwingOffsets.Measured(new Meter(2, 2), report).InBeats(new BarPosition(1, 1, new Fraction(1, 4)), KitPiece.Ride), 1e-12);
    }

    [Fact]
    public void Touch_at_zero_evens_loudness_but_keeps_ghosts_quiet()
    {
        (Performance performance, FeelReport report) = Passage(9);
        IReadOnlyList<PlannedStroke> plan = RebuildPlan.Make(performance, report, Dials.AsWritten);
        double[] ghosts = [.. Enumerable.Range(0, plan.Count).Where(i => performance.Hits[i].Marks == HitMarks.Ghost).Select(i => plan[i].Velocity)];
        double[] hats = [.. plan.Where(stroke => stroke.Piece == KitPiece.HatClosed).Select(stroke => stroke.Velocity)];
        Assert.Single(ghosts.Distinct());
        Assert.Single(hats.Distinct());
        Assert.True(ghosts[0] < 45);
        Assert.Equal(performance.Hits.Where(hit => hit.Piece == KitPiece.HatClosed).Average(hit => hit.Velocity), hats[0], 1e-9);
    }

    [Fact]
    public void Dials_out_of_range_are_named()
    {
        (Performance performance, FeelReport report) = Passage(1);
        Assert.Contains("lay-back", Message(new Dials { LayBack = -0.1 }), StringComparison.Ordinal);
        Assert.Contains("swing", Message(new Dials { Swing = 150 }), StringComparison.Ordinal);
        Assert.Contains("tempo", Message(new Dials { Tempo = double.NaN }), StringComparison.Ordinal);
        Assert.Contains("1.6", Message(new Dials { SwingTo = new SwingSetting(SwingLevel.Eighth, 62) }), StringComparison.Ordinal);
        Assert.Contains("kick", Message(new Dials { Pieces = new Dictionary<KitPiece, PieceDial> { [KitPiece.Kick] = new(LayBackTo: Seconds.Of(15)) } }), StringComparison.Ordinal);

        string Message(Dials dials) => Assert.Throws<InputException>(() => RebuildPlan.Make(performance, report, dials)).Message;
    }

    private static Dials Turn(Dials dials, int which, double to) => which switch
    {
        0 => dials with { Swing = to },
        1 => dials with { LayBack = to },
        2 => dials with { Habits = to },
        3 => dials with { Looseness = to },
        _ => dials with { Tempo = to },
    };

    private static void AssertMoved(Performance performance, IReadOnlyList<PlannedStroke> from, IReadOnlyList<PlannedStroke> to, Func<KitPiece, double> milliseconds)
    {
        for (int i = 0; i < from.Count; i++)
            Assert.Equal(milliseconds(performance.Hits[i].Piece), (to[i].Time - from[i].Time).Milliseconds, 1e-9);
    }

    /// <summary>Long : short of the hats' pairs "&amp; a", from the planned times alone.</summary>
    private static double RatioOf(Performance performance, IReadOnlyList<PlannedStroke> plan)
    {
        Dictionary<Fraction, double> hats = Enumerable.Range(0, plan.Count)
            .Where(i => performance.Hits[i].Piece == KitPiece.HatClosed)
            .ToDictionary(i => performance.Pulse.BeatsFromFirst(performance.Hits[i].Position!.Value), i => plan[i].Time.TotalSeconds);
        (double Long, double Short)[] pairs = [.. hats.Keys
            .Where(place => hats.ContainsKey(place + new Fraction(1, 4)) && hats.ContainsKey(place + new Fraction(1, 2)) && (place * 2).Denominator == 1)
            .Select(place => (hats[place + new Fraction(1, 4)] - hats[place], hats[place + new Fraction(1, 2)] - hats[place + new Fraction(1, 4)]))];
        Assert.True(pairs.Length >= 20);
        return pairs.Sum(pair => pair.Long) / pairs.Sum(pair => pair.Short);
    }

    private static bool Close(double a, double b) => Math.Abs(a - b) < 1e-9;

    private static double[] Deviations(Performance performance, IReadOnlyList<PlannedStroke> plan) =>
        [.. plan.Select((stroke, i) => (stroke.Time - performance.Pulse.TimeAt(performance.Hits[i].Position!.Value)).Milliseconds)];

    private static Hit At(Pulse pulse, KitPiece piece, int bar, int beat, double lateMs)
    {
        var place = new BarPosition(bar, beat, 0);
        return new Hit(pulse.TimeAt(place) + Seconds.FromMilliseconds(lateMs), piece, 90, Level.FromDbfs(-12), 1) { Position = place };
    }

    private static (Performance Performance, FeelReport Report) Passage(ulong seed)
    {
        InventedPassage passage = InventedPassage.Make(seed);
        return (passage.Performance, Report(passage.Performance, passage.Truth.SwingRatio, 18, 6));
    }

    private static FeelReport Report(Performance performance, double ratio, double kickMs, double handMs) => new(
        FeelReference.TimekeepingHand,
        "closed hat",
        [new SwingFigure(SwingLevel.Sixteenth, [KitPiece.HatClosed], new Estimate(ratio, ratio, ratio), 40, SwingVerdict.Swung, [])],
        [
            LayBack(KitPiece.Kick, kickMs), LayBack(KitPiece.Snare, handMs), LayBack(KitPiece.TomHigh, handMs), LayBack(KitPiece.TomLow, handMs),
            new LayBackFigure(KitPiece.HatPedal, new Estimate(99, 99, 99), 0, 3, false, []),
        ],
        [],
        [],
        new TempoFigure(performance.Pulse.MeanTempo, new Estimate(0, 0, 0), []),
        []);

    private static LayBackFigure LayBack(KitPiece piece, double ms) => new(piece, new Estimate(ms, ms, ms), 0, 10, true, []);
}
