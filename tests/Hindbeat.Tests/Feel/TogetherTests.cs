using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Tests.Feel;

/// <summary>Limbs against each other, stroke to stroke, flams, loud and late: typed-in and invented passages with a known answer.</summary>
public class TogetherTests
{
    private static readonly Fraction And = new(1, 2);

    private static FeelReport Even(double hatMs, double kickMs, int bars, int seed)
    {
        var feel = new InventedFeel { Tempo = 96, Bars = bars };
        feel.PlayEvery(KitPiece.HatClosed, -20, 0, And).Play(KitPiece.Kick, -8, (1, 0), (2, And), (3, 0));
        (feel.LoosenessMs[KitPiece.HatClosed], feel.LoosenessMs[KitPiece.Kick], feel.LayBackMs[KitPiece.Kick]) = (hatMs, kickMs, 13);
        return FeelAnalysis.Measure(feel.Make(new Random(seed)));
    }

    /// <summary>Two independent limbs of 5 and 12 ms: √(5² + 12²) = 13 ms (textbook arithmetic).</summary>
    [Fact]
    public void Independent_limbs_spread_by_the_root_of_the_sum_of_squares()
    {
        TogetherFigure figure = Assert.Single(Even(5, 12, 64, 1).Together);

        Assert.Equal((KitPiece.Kick, KitPiece.HatClosed), (figure.First, figure.Second));
        Assert.Equal(13, figure.SpreadMs.Value, 1.2);
        Assert.Equal(13, figure.ApartMs.Value, 1.5 * figure.ApartMs.HalfWidth);
        Assert.Equal(3 * 64, figure.Pairs);
    }

    [Fact]
    public void Limbs_that_stray_together_are_tight_however_loose_each_is()
    {
        var typed = new Typed(100, 12);
        var random = new Random(5);
        for (int bar = 1; bar <= 12; bar++)
        {
            for (int beat = 1; beat <= 4; beat++)
            {
                double common = 15 * InventedFeel.Normal(random);
                typed.Hit(KitPiece.HatClosed, bar, beat, 0, common).Hit(KitPiece.Snare, bar, beat, 0, common + 6 + (beat % 2));
            }
        }

        TogetherFigure figure = Assert.Single(FeelAnalysis.Measure(typed.Make()).Together);
        Assert.Equal(0, figure.SpreadMs.Value, 1e-6);
        Assert.Equal(-6.5, -figure.ApartMs.Value, 0.05);
    }

    /// <summary>Independent jitter σ: intervals spread by σ√2 and their lag-1 correlation is −0.5 (textbook; from memory).</summary>
    [Fact]
    public void Independent_strokes_make_intervals_of_root_two_and_minus_a_half()
    {
        double spread = 0, lag = 0;
        const int Passages = 20;
        for (int seed = 0; seed < Passages; seed++)
        {
            MemoryFigure hats = Even(6, 6, 32, seed).Memory.Single(figure => figure.Stream == KitPiece.HatClosed);
            (spread, lag) = (spread + (hats.IntervalSpreadMs.Value / Passages), lag + (hats.LagOne.Value / Passages));
        }

        Assert.Equal(6 * Math.Sqrt(2), spread, 0.15);
        Assert.Equal(-0.5, lag, 0.02);
    }

    /// <summary>Each stroke timed from the last one: intervals are independent, lag-1 is 0; drift pushes it above −0.5 (textbook).</summary>
    [Fact]
    public void A_hand_that_times_each_stroke_from_the_last_has_no_lag_one_correlation()
    {
        var random = new Random(9);
        var typed = new Typed(100, 60);
        double walk = 0;
        for (int bar = 1; bar <= 60; bar++)
        {
            for (int beat = 1; beat <= 4; beat++)
            {
                // Pulled back a little, so that it does not wander off its written place.
                walk = (0.97 * walk) + (4 * InventedFeel.Normal(random));
                typed.Hit(KitPiece.HatClosed, bar, beat, 0, walk);
            }
        }

        MemoryFigure hats = Assert.Single(FeelAnalysis.Measure(typed.Make()).Memory);
        Assert.Equal(0, hats.LagOne.Value, 0.15);
        Assert.True(hats.LagOne.Low > -0.5);
        Assert.Equal(0.0, Memory.LagOneOf([3, 0, 3, 0]), 1e-12);
        Assert.Equal(-1.0, Memory.LagOneOf([2, -2, 2, -2]), 1e-12);
    }

    [Fact]
    public void Flams_are_as_wide_as_they_were_played_and_drags_are_no_flams()
    {
        Pulse pulse = new Typed(100, 8).Pulse;
        var hits = new List<Hit>();
        double sum = 0;
        for (int bar = 1; bar <= 8; bar++)
        {
            var place = new BarPosition(bar, 2, 0);
            AudioTime main = pulse.TimeAt(place);
            double width = 24 + (bar % 3);
            sum += width / 8;
            hits.Add(new Hit(main + Seconds.FromMilliseconds(-width), KitPiece.Snare, 40, Level.FromDbfs(-24), 1) { Position = place });
            hits.Add(new Hit(main, KitPiece.Snare, 100, Level.FromDbfs(-10), 1) { Position = place });
            var drag = new BarPosition(bar, 4, 0);
            foreach (int i in new[] { 2, 1, 0 })
                hits.Add(new Hit(pulse.TimeAt(drag) + Seconds.FromMilliseconds(-30 * i), KitPiece.Snare, 60, Level.FromDbfs(-12 - (8 * i)), 1) { Position = drag });
        }

        FlamFigure flams = Assert.Single(FeelAnalysis.Measure(new Performance(pulse, hats(pulse).Concat(hits))).Flams);
        Assert.Equal(sum, flams.WidthMs.Value, 0.1);
        Assert.Equal(8, flams.Flams);

        static IEnumerable<Hit> hats(Pulse pulse) => Enumerable.Range(1, 8).SelectMany(bar => Enumerable.Range(1, 4).Select(beat => new BarPosition(bar, beat, 0)))
            .Select(place => new Hit(pulse.TimeAt(place), KitPiece.HatClosed, 80, Level.FromDbfs(-20), 1) { Position = place });
    }

    /// <summary>Louder by 1 dB is later by 0.8 ms here: 8 ms for 10 dB, whatever place is louder as a whole.</summary>
    [Fact]
    public void Loud_means_late_by_the_slope_that_was_put_in()
    {
        var random = new Random(2);
        var typed = new Typed(90, 16).EveryBeat(KitPiece.HatClosed, 0, 0);
        for (int bar = 1; bar <= 16; bar++)
        {
            foreach ((int beat, double level, double late) in new[] { (2, -10.0, 0.0), (4, -14.0, 25.0) })
            {
                double louder = 2 * InventedFeel.Normal(random);
                typed.Hit(KitPiece.Snare, bar, beat, 0, late + (0.8 * louder), level + louder);
            }
        }

        LoudAndLateFigure snare = Assert.Single(FeelAnalysis.Measure(typed.Make()).LoudAndLate);
        Assert.Equal(KitPiece.Snare, snare.Piece);
        Assert.Equal(8, snare.MsPer10Db.Value, 0.5);
        Assert.True(snare.MsPer10Db.Low > 0);
    }
}
