using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Tests.Feel;

/// <summary>Swing from the onset strength alone, swing over time and against tempo, landmarks, and what deserves to be written.</summary>
public class SwingLooksTests
{
    private static readonly Fraction E = new(1, 4), And = new(1, 2), A = new(3, 4);

    private static Performance Hats(double swing, double bpm = 92, int bars = 12, double looseness = 4, int seed = 1)
    {
        var feel = new InventedFeel { Tempo = bpm, Bars = bars, Swing16 = swing };
        feel.PlayEvery(KitPiece.HatClosed, -20, 0, E, And, A).Play(KitPiece.Snare, -10, (2, 0), (4, 0));
        feel.LoosenessMs[KitPiece.HatClosed] = feel.LoosenessMs[KitPiece.Snare] = looseness;
        return feel.Make(new Random(seed));
    }

    /// <summary>A burst of 12 ms at each stroke, as an onset detector gives it: 172 frames a second.</summary>
    private static StrengthCurve Strength(Performance performance, Func<Hit, AudioTime>? time = null)
    {
        const double Rate = 172;
        double[] values = new double[(int)((performance.Hits[^1].Time.TotalSeconds + 2) * Rate)];
        foreach (Hit hit in performance.Hits)
        {
            double at = (time?.Invoke(hit) ?? hit.Time).TotalSeconds;
            for (int i = Math.Max(0, (int)((at - 0.06) * Rate)); i < Math.Min(values.Length, (int)((at + 0.06) * Rate)); i++)
                values[i] += Math.Exp(-0.5 * Math.Pow(((i / Rate) - at) / 0.006, 2)) * Math.Pow(10, hit.Level.Dbfs / 20);
        }

        return new StrengthCurve(values, Rate, 0);
    }

    [Theory]
    [InlineData(1.0, 0.12)]
    [InlineData(1.3, 0.12)]
    [InlineData(1.6, 0.12)]
    [InlineData(2.0, 0.15)]
    public void The_sound_alone_tells_the_ratio_that_was_played(double ratio, double tolerance)
    {
        Performance hats = Hats(ratio);
        Assert.Equal(ratio, SwingFromStrength.Ratio(Strength(hats), hats.Pulse, 0.5)!.Value, tolerance);
    }

    [Fact]
    public void Strokes_and_sound_that_tell_the_same_raise_no_doubt_and_different_ones_do()
    {
        Performance swung = Hats(1.6), straight = Hats(1.0);
        SwingFigure agree = FeelAnalysis.Measure(swung, sound: Strength(swung)).Swing.First(figure => figure.Level == SwingLevel.Sixteenth);
        SwingFigure differ = FeelAnalysis.Measure(straight, sound: Strength(swung)).Swing.First(figure => figure.Level == SwingLevel.Sixteenth);
        Assert.NotNull(agree.RatioFromSound);
        Assert.Empty(agree.Doubts.OfType<SwingEstimatesDisagree>());
        Assert.Contains("some strokes may be missed", Assert.Single(differ.Doubts.OfType<SwingEstimatesDisagree>()).Text, StringComparison.Ordinal);
    }

    [Fact]
    public void Sound_without_16ths_says_nothing_about_16ths()
    {
        Performance beats = new Typed(100, 12).EveryBeat(KitPiece.Kick, 0, 0).Make();
        Assert.Null(SwingFromStrength.Ratio(Strength(beats), beats.Pulse, 0.5));
        Assert.Null(SwingFromStrength.Ratio(new StrengthCurve(new double[4000], 172, 0), beats.Pulse, 0.5));
    }

    [Fact]
    public void A_swing_that_opens_up_half_way_shows_in_its_windows()
    {
        Performance first = Hats(1.2, bars: 8), second = Hats(1.8, bars: 8);
        Pulse pulse = Pulse.Steady(Meter.FourFour, Bpm.Of(92), AudioTime.FromSeconds(1), 65);
        Seconds later = pulse.TimeAt(new BarPosition(9, 1, 0)) - pulse.TimeAt(new BarPosition(1, 1, 0));
        var both = new Performance(pulse, first.Hits.Concat(second.Hits.Select(hit => hit with { Time = hit.Time + later, Position = new BarPosition(hit.Position!.Value.Bar + 8, hit.Position.Value.Beat, hit.Position.Value.Within) })));

        SwingWindow[] windows = [.. FeelAnalysis.Measure(both).SwingOverTime.Where(window => window.Level == SwingLevel.Sixteenth)];

        Assert.Equal([(1, 4), (5, 8), (9, 12), (13, 16)], windows.Select(window => (window.FirstBar, window.LastBar)));
        for (int i = 0; i < 4; i++)
            Assert.Equal(i < 2 ? 1.2 : 1.8, windows[i].Ratio.Value, 1.5 * windows[i].Ratio.HalfWidth);
        Assert.Empty(FeelAnalysis.Measure(Hats(1.2, bars: 7)).SwingOverTime);
    }

    [Fact]
    public void Swing_that_straightens_as_it_gets_faster_has_a_slope_below_zero_and_a_steady_tempo_has_none()
    {
        var beats = new List<Beat>();
        double t = 1;
        for (int i = 0; i <= 128; i++)
        {
            beats.Add(new Beat(AudioTime.FromSeconds(t), 1 + (i / 4), 1 + (i % 4)));
            t += 60 / (90 + (30.0 * i / 128));
        }

        var pulse = new Pulse(Meter.FourFour, beats, 1, PulseSource.ByHand);
        var random = new Random(7);
        var hits = new List<Hit>();
        for (int k = 0; k < 512; k++)
        {
            BarPosition place = pulse.PositionAt(new Fraction(k, 4));
            // 2.0 at 90 bpm, 1.4 at 120: minus 0.2 for 10 bpm.
            double bpm = 90 + (30.0 * k / 512), half = 15.0 / bpm, ratio = 2 - (0.02 * (bpm - 90));
            double delay = k % 2 == 1 ? SwingRatio.ToDelay(half, ratio) : 0;
            hits.Add(new Hit(pulse.TimeAt(place) + Seconds.Of(delay + (0.003 * InventedFeel.Normal(random))), KitPiece.HatClosed, 80, Level.FromDbfs(-20), 1) { Position = place });
        }

        SwingAgainstTempo slope = FeelAnalysis.Measure(new Performance(pulse, hits)).SwingAgainstTempo.Single(slope => slope.Level == SwingLevel.Sixteenth);
        Assert.Equal(-0.2, slope.PerTenBpm.Value, 0.03);
        Assert.True(slope.PerTenBpm.High < 0);
        Assert.Empty(FeelAnalysis.Measure(Hats(1.5, bars: 32)).SwingAgainstTempo);
    }

    /// <summary>With a short note of exactly 100 ms (Friberg and Sundström 2002): 3.0 at 150 bpm, 2.0 at 200, 1.0 at 300. By hand.</summary>
    [Theory]
    [InlineData(150, 3.0)]
    [InlineData(200, 2.0)]
    [InlineData(300, 1.0)]
    [InlineData(110, 3.5)]
    public void The_rides_landmark_falls_with_tempo(double bpm, double ratio) => Assert.Equal(ratio, SwingLandmarks.RideAt(bpm)!.Ratio, 1e-9);

    [Fact]
    public void No_ride_landmark_where_nobody_measured() => Assert.Null(SwingLandmarks.RideAt(60));

    [Theory]
    [InlineData(1.62, 1.55, 1.70, 92, true)]
    // An interval from 1.83 to 7.15 tells nobody how to swing.
    [InlineData(3.37, 1.83, 7.15, 92, false)]
    // 1.11 : 1 at 138 bpm is 5.7 ms: below 6 ms, one displaced tone in an even sequence (Friberg and Sundberg 1995).
    [InlineData(1.11, 1.07, 1.15, 138, false)]
    // The median of thirty breaks, 1.2 : 1 (Frane 2017), at 90 bpm: 15 ms.
    [InlineData(1.20, 1.14, 1.26, 90, true)]
    public void Only_swing_that_is_sure_narrow_and_large_enough_is_worth_writing(double ratio, double low, double high, double bpm, bool worth)
    {
        double half = 15_000 / bpm;
        var figure = new SwingFigure(SwingLevel.Sixteenth, [KitPiece.HatClosed], new Estimate(ratio, low, high), 40, SwingVerdict.Swung, [])
        {
            DelayMs = new Estimate(SwingRatio.ToDelay(half, ratio), SwingRatio.ToDelay(half, low), SwingRatio.ToDelay(half, high)),
        };
        Assert.Equal(worth, figure.WorthWriting);
        Assert.False((figure with { Verdict = SwingVerdict.Undecided }).WorthWriting);
    }
}
