using Hindbeat.Performances;
using Hindbeat.Pulses;

namespace Hindbeat.Tests.Pulses;

/// <summary>What readings are compared by, against the formulas written out.</summary>
public class ReadingScores
{
    [Theory]
    [InlineData(8)]
    // Longer than the tables reach.
    [InlineData(90)]
    public void Tables_give_the_marginal_likelihood_of_the_formula(int bars)
    {
        StrokeTrain strokes = StrokeTrain.From([.. Grooves.Steady(Grooves.Sixteenths, bars, 92).OrderBy(hit => hit.Time)]);
        double beat = 60.0 / 92;
        BarCounts counts = BarCounts.Of(strokes, [.. strokes.Times.Select(time => (time - 0.5) / beat)], 1, 0, 4, beat);
        BarProfiles profiles = BarProfiles.For(Meter.FourFour);
        double[] logs = new double[profiles.Shares.Length];
        for (int k = 0; k < logs.Length; k++)
        {
            logs[k] = Math.Log(profiles.Shares[k]);
            for (int cell = 0; cell < counts.Struck.Length; cell++)
            {
                // ln B(κp + n, κ(1−p) + N − n) − ln B(κp, κ(1−p)), B(a, b) = Γ(a)Γ(b)/Γ(a + b).
                double a = 5 * profiles.Chances[k][cell];
                double b = 5 - a;
                int n = counts.Struck[cell];
                int all = counts.Bars[cell % counts.Slots];
                logs[k] += LogGamma.Of(a + n) + LogGamma.Of(b + all - n) - LogGamma.Of(a + b + all) - LogGamma.Of(a) - LogGamma.Of(b) + LogGamma.Of(a + b);
            }
        }

        double top = logs.Max();
        Assert.Equal(top + Math.Log(logs.Sum(log => Math.Exp(log - top))), ProfileScore.Of(profiles, counts), 1e-6 * Math.Abs(top));
    }

    [Fact]
    public void A_fill_before_one_breaks_the_last_beat_and_a_part_begins_on_one()
    {
        // Eight bars on the hat, the last beat a fill on the toms, then eight on the ride.
        List<Hit> hits = Grooves.Steady(Grooves.Rock, 16, 120);
        hits = [.. hits.Where(hit => !(InBeat(hit, 31) && hit.Piece != KitPiece.Kick)).Select(hit =>
            hit.Piece == KitPiece.HatClosed && hit.Time.TotalSeconds > 16.4 ? hit with { Piece = KitPiece.Ride } : hit)];
        for (int k = 0; k < 4; k++)
            hits.Add(Grooves.Of(0.5 + ((31 + (k / 4.0)) * 0.5), KitPiece.TomHigh, 100));
        StrokeTrain strokes = StrokeTrain.From([.. hits.OrderBy(hit => hit.Time)]);
        double[] places = [.. strokes.Times.Select(time => (time - 0.5) / 0.5)];
        double Evidence(double downbeat, string name)
        {
            BarCounts counts = BarCounts.Of(strokes, places, 1, downbeat, 4, 0.5);
            return BeatMasks.Of(strokes, counts.SlotOf, Meter.FourFour).Evidence(strokes, counts.SlotOf)[Array.IndexOf(BeatMasks.Names, name)];
        }

        foreach (double other in (double[])[1, 2, 3])
        {
            Assert.True(Evidence(0, "breaks in the last beat less on one") > Evidence(other, "breaks in the last beat less on one"));
            Assert.True(Evidence(0, "time moves to another piece on one") > Evidence(other, "time moves to another piece on one"));
        }
    }

    [Fact]
    public void Backbeats_two_beats_apart_are_so_in_the_true_tempo_only()
    {
        StrokeTrain strokes = StrokeTrain.From([.. Grooves.Steady(Grooves.Rock, 8, 120).OrderBy(hit => hit.Time)]);
        double Share(double beatSeconds, string name)
        {
            BarCounts counts = BarCounts.Of(strokes, [.. strokes.Times.Select(time => (time - 0.5) / beatSeconds)], 1, 0, 4, beatSeconds);
            return IntervalEvidence.Of(strokes, counts.SlotOf)[Array.IndexOf(IntervalEvidence.Names, name)];
        }

        Assert.InRange(Share(0.5, "backbeats two beats apart"), 0.9, 1);
        Assert.InRange(Share(0.25, "backbeats four beats apart"), 0.9, 1);
        Assert.InRange(Share(1, "backbeats one beat apart"), 0.9, 1);
    }

    [Fact]
    public void A_kick_that_is_loudest_on_one_says_so_only_where_the_bar_starts()
    {
        const int Bars = 8;
        StrokeTrain strokes = StrokeTrain.From([.. Grooves.Steady(Grooves.Rock, Bars, 120).OrderBy(hit => hit.Time)]);
        double[] places = [.. strokes.Times.Select(time => (time - 0.5) / 0.5)];
        double Evidence(double downbeat) =>
            AccentEvidence.Of(strokes, BarCounts.Of(strokes, places, 1, downbeat, 4, 0.5).SlotOf, 4)[Array.IndexOf(AccentEvidence.Names, "kick louder on one")];

        // Kicks of 110, 105 and 95 in each bar, the first on one; spread of velocities joined to 8; three strokes without accent beside each mean.
        double mean = (110 + 105 + 95) / 3.0;
        double spread = Math.Sqrt(((Math.Pow(110 - mean, 2) + Math.Pow(105 - mean, 2) + Math.Pow(95 - mean, 2)) / 3) + 64);
        double onOne = (110 - mean) / spread;
        Assert.Equal((Bars * onOne / (Bars + 3)) + (Bars * onOne / ((2 * Bars) + 3)), Evidence(0), 9);
        Assert.True(Evidence(2) < Evidence(0));
    }

    [Fact]
    public void A_passage_of_eight_bars_with_a_pickup_starts_and_ends_where_its_bars_do()
    {
        // A pickup of two eighths on the snare before one, eight bars, a kick under the crash of the first and the fifth.
        List<Hit> hits = [.. Grooves.Steady(Grooves.Rock, 8, 120, start: 2), Grooves.Of(1.5, KitPiece.Snare), Grooves.Of(1.75, KitPiece.Snare), Grooves.Of(2 + (16 * 0.5), KitPiece.Crash)];
        StrokeTrain strokes = StrokeTrain.From([.. hits.OrderBy(hit => hit.Time)]);
        double[] places = [.. strokes.Times.Select(time => (time - 2) / 0.5)];
        double Evidence(double downbeat, string name) =>
            PhraseEvidence.Of(strokes, BarCounts.Of(strokes, places, 1, downbeat, 4, 0.5).SlotOf, 4)[Array.IndexOf(PhraseEvidence.Names, name)];

        Assert.Equal(1, Evidence(0, "starts in the last beat"));
        Assert.Equal(1, Evidence(0, "whole eight bars"));
        Assert.Equal(0, Evidence(2, "whole eight bars"));
        Assert.Equal(1, Evidence(1, "starts on three"));
        // Two crashes with kicks, half a one spread over four beats beside them.
        Assert.Equal((2 + (0.5 / 4)) / 2.5, Evidence(0, "crash with kick on one"), 9);
        Assert.Equal(0.5 / 4 / 2.5, Evidence(0, "crash with kick on three"), 9);
        Assert.Equal((2 + (0.5 / 4)) / 2.5, Evidence(2, "crash with kick on three"), 9);
    }

    [Fact]
    public void A_fill_in_every_fourth_bar_is_alike_after_four_bars()
    {
        List<Hit> hits = [.. Grooves.Steady(Grooves.Rock, 16, 120).Where(hit => !(hit.Piece == KitPiece.HatClosed && Enumerable.Range(0, 4).Any(fill => InBeat(hit, (16 * fill) + 15))))];
        for (int fill = 0; fill < 4; fill++)
        {
            for (int k = 0; k < 4; k++)
                hits.Add(Grooves.Of(0.5 + (((16 * fill) + 15 + (k / 4.0)) * 0.5), KitPiece.TomHigh, 100));
        }

        StrokeTrain strokes = StrokeTrain.From([.. hits.OrderBy(hit => hit.Time)]);
        BarCounts counts = BarCounts.Of(strokes, [.. strokes.Times.Select(time => (time - 0.5) / 0.5)], 1, 0, 4, 0.5);
        double[] evidence = BeatMasks.Of(strokes, counts.SlotOf, Meter.FourFour).Evidence(strokes, counts.SlotOf);
        double After(string bars) => evidence[Array.IndexOf(BeatMasks.Names, $"alike after {bars}")];
        // All pairs of beats so far apart are alike, and two half alike ones are drawn in.
        Assert.Equal((48 + 1) / 50.0, After("four bars"), 9);
        Assert.Equal((32 + 1) / 34.0, After("eight bars"), 9);
        Assert.True(After("three bars") < 0.95);
    }

    [Fact]
    public void Of_a_click_and_half_of_it_only_a_whole_tempo_is_believed()
    {
        double whole = WholeTempo.LogOf(Meter.FourFour, 157, 0.02 / 157);
        // The normal density at its middle, its spread the tempo's error joined to 0.02 bpm.
        Assert.Equal(Math.Log(0.5 + (0.5 / Math.Sqrt(2 * Math.PI * 2 * 0.02 * 0.02))), whole, 6);
        Assert.Equal(Math.Log(0.5), WholeTempo.LogOf(Meter.FourFour, 78.5, 0.02 / 78.5), 6);
        Assert.Equal(Math.Log(0.5), WholeTempo.LogOf(Meter.FourFour, 157 * 2 / 3.0, 0.02 / 157), 6);
        // A short passage does not know its tempo, one that changes has none.
        Assert.Equal(0, WholeTempo.LogOf(Meter.FourFour, 78.5, 1 / 78.5), 6);
        Assert.Equal(0, WholeTempo.LogOf(Meter.FourFour, 78.5, double.NaN));
        // 53 1/3 dotted quarters are 80 quarters.
        Assert.True(WholeTempo.LogOf(new Meter(6, 8), 160 / 3.0, 0.02 / 157) > 1);
    }

    [Theory]
    [InlineData(0.010)]
    [InlineData(0.030)]
    public void The_looked_up_bell_is_the_bell(double scatter)
    {
        StrokeBell bell = new(scatter);
        for (double off = -0.5; off < 0.5; off += 0.000173)
        {
            double formula = Math.Log(Math.Exp(-0.5 * off * off / (scatter * scatter)) + (0.02 * Math.Exp(-0.5 * off * off / (0.04 * 0.04))) + 2e-4);
            Assert.Equal(formula, bell.LogAt(off), 1e-5);
        }
    }

    private static bool InBeat(Hit hit, int beat) => (int)Math.Floor(((hit.Time.TotalSeconds - 0.5) / 0.5) + 0.01) == beat;
}
