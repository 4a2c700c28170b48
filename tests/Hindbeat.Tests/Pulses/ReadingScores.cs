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

    private static bool InBeat(Hit hit, int beat) => (int)Math.Floor(((hit.Time.TotalSeconds - 0.5) / 0.5) + 0.01) == beat;
}
