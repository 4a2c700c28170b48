using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Tests.Feel;

/// <summary>Arithmetic that published sources or handbook tables state; each row names its source.</summary>
public class ScienceArithmeticTests
{
    /// <summary>Share p = R / (1 + R): definition (field usage), values by hand.</summary>
    [Theory]
    [InlineData(1.0, 50.0)]
    [InlineData(1.1, 52.38)]
    [InlineData(1.2, 54.55)]
    [InlineData(1.3, 56.52)]
    [InlineData(1.5, 60.0)]
    [InlineData(2.0, 66.67)]
    [InlineData(3.0, 75.0)]
    [InlineData(3.5, 77.78)]
    public void Ratio_and_share_of_the_pair(double ratio, double percent) =>
        Assert.Equal(percent, 100 * SwingRatio.ToShare(ratio), 0.005);

    /// <summary>Second 16th at 90 bpm, pair 333.3 ms: R = (m+d)/(m−d), Câmara and Jensenius, Sensing Sound and Music, ch. 5; values by hand.</summary>
    [Theory]
    [InlineData(1.1, 7.9)]
    [InlineData(1.2, 15.2)]
    [InlineData(1.3, 21.7)]
    [InlineData(1.5, 33.3)]
    [InlineData(2.0, 55.6)]
    public void Delay_of_the_second_16th_at_90_bpm(double ratio, double delayMs)
    {
        double half = 60_000.0 / 90 / 4;
        Assert.Equal(delayMs, SwingRatio.ToDelay(half, ratio), 0.05);
        Assert.Equal(ratio, SwingRatio.FromDelay(half, SwingRatio.ToDelay(half, ratio)), 1e-12);
    }

    /// <summary>By hand: 10 ms of 666.7 ms and of 500 ms.</summary>
    [Theory]
    [InlineData(90, 1.5)]
    [InlineData(120, 2.0)]
    public void Ten_milliseconds_as_a_share_of_a_beat(double bpm, double percent) =>
        Assert.Equal(percent, LayBack.PercentOfBeat(10, bpm), 1e-9);

    /// <summary>dR = dt / pair / (1 − p)²: 0.0145 per ms at R 1.2, 90 bpm 16ths; 5 ms move R 1.2 by 0.07. By hand.</summary>
    [Fact]
    public void Sensitivity_of_the_ratio_to_a_timing_error()
    {
        double half = 60_000.0 / 90 / 4, d = SwingRatio.ToDelay(half, 1.2), p = SwingRatio.ToShare(1.2);
        double slope = (SwingRatio.FromDelay(half, d + 0.001) - SwingRatio.FromDelay(half, d - 0.001)) / 0.002;
        Assert.Equal(0.0145, slope, 0.00005);
        Assert.Equal(1 / (2 * half) / ((1 - p) * (1 - p)), slope, 1e-6);
        Assert.Equal(0.07, SwingRatio.FromDelay(half, d + 5) - 1.2, 0.006);
    }

    /// <summary>
    /// SE(R) = SE(p)/(1 − p)²: jitter 10 ms of the second hit only, 32 pairs, 90 bpm, R 1.2 give ±0.05. By hand:
    /// 1.96 · 10/√32 / 333.3 / 0.4545² = 0.0503. Four bars of 8 pairs: t(3) widens 1.96 to 3.18.
    /// </summary>
    [Fact]
    public void The_interval_of_the_ratio_is_as_wide_as_the_formula_says()
    {
        double sum = 0;
        const int Passages = 60;
        for (int seed = 0; seed < Passages; seed++)
        {
            var random = new Random(seed);
            var typed = new Typed(90, 4);
            foreach (Fraction on in new[] { new Fraction(0), new Fraction(1, 2) })
                typed.EveryBeat(KitPiece.HatClosed, on, 0);
            for (int pair = 0; pair < 32; pair++)
            {
                double late = SwingRatio.ToDelay(60_000.0 / 90 / 4, 1.2) + (10 * InventedFeel.Normal(random));
                typed.Hit(KitPiece.HatClosed, 1 + (pair / 8), 1 + (pair / 2 % 4), new Fraction(1 + (2 * (pair % 2)), 4), late);
            }

            sum += FeelAnalysis.Measure(typed.Make()).Swing.First(figure => figure.Level == SwingLevel.Sixteenth).Ratio.HalfWidth;
        }

        Assert.Equal(0.0503 * 3.182 / 1.96, sum / Passages, 0.0503 * 3.182 / 1.96 * 0.15);
    }

    /// <summary>The mean of ratios is biased upward (Jensen's inequality); the ratio of means is not.</summary>
    [Fact]
    public void The_ratio_is_one_of_means_not_a_mean_of_ratios()
    {
        var random = new Random(5);
        double mean = 0, measured = 0;
        const int Passages = 20;
        for (int passage = 0; passage < Passages; passage++)
        {
            var invented = new InventedFeel { Tempo = 120, Bars = 16, Swing16 = 1.5 };
            invented.PlayEvery(KitPiece.HatClosed, -20, 0, new Fraction(1, 4), new Fraction(1, 2), new Fraction(3, 4));
            invented.LoosenessMs[KitPiece.HatClosed] = 14;
            Performance performance = invented.Make(random);
            double[] times = [.. performance.Hits.Select(hit => hit.Time.TotalSeconds)];
            double ratios = 0;
            int pairs = 0;
            for (int i = 0; i + 2 < times.Length; i += 2, pairs++)
                ratios += (times[i + 1] - times[i]) / (times[i + 2] - times[i + 1]);
            mean += ratios / pairs / Passages;
            measured += FeelAnalysis.Measure(performance).Swing.First(figure => figure.Level == SwingLevel.Sixteenth).Ratio.Value / Passages;
        }

        Assert.Equal(1.5, measured, 0.015);
        Assert.True(mean > measured + 0.03, $"mean of ratios {mean:0.000}, ratio of means {measured:0.000}");
    }

    /// <summary>With a short note of exactly 100 ms (Friberg and Sundström 2002 report about that): long = beat − 100. By hand.</summary>
    [Theory]
    [InlineData(133.3333333, 3.5)]
    [InlineData(150, 3.0)]
    [InlineData(200, 2.0)]
    [InlineData(240, 1.5)]
    [InlineData(300, 1.0)]
    public void Ride_ratio_with_a_short_note_of_100_ms(double bpm, double ratio)
    {
        double half = 30_000 / bpm;
        Performance ride = new Typed(bpm, 8).EveryBeat(KitPiece.Ride, 0, 0).EveryBeat(KitPiece.Ride, new Fraction(1, 2), half - 100).Make();
        Assert.Equal(ratio, Assert.Single(FeelAnalysis.Measure(ride).Swing).Ratio.Value, 1e-4);
    }

    /// <summary>Friberg and Sundberg 1995, JASA 98(5):2524–2531: 6 ms below 240 ms, 2.5 % from 240 to 1000 ms.</summary>
    [Theory]
    [InlineData(200, 6.0)]
    [InlineData(240, 6.0)]
    [InlineData(500, 12.5)]
    [InlineData(1000, 25.0)]
    public void A_displaced_tone_can_be_told_from(double intervalMs, double thresholdMs) =>
        Assert.Equal(thresholdMs, Audibility.DisplacedToneMs(intervalMs)!.Value, 1e-9);

    [Fact]
    public void Outside_the_tested_range_no_threshold_is_given() => Assert.Null(Audibility.DisplacedToneMs(1500));

    /// <summary>Student's t, 97.5 % points: NIST/SEMATECH e-Handbook of Statistical Methods, table 1.3.6.7.2.</summary>
    [Theory]
    [InlineData(1, 12.706)]
    [InlineData(2, 4.303)]
    [InlineData(3, 3.182)]
    [InlineData(4, 2.776)]
    [InlineData(7, 2.365)]
    [InlineData(10, 2.228)]
    [InlineData(30, 2.042)]
    [InlineData(100, 1.984)]
    public void Students_t(double degrees, double quantile) => Assert.Equal(quantile, StudentT.Quantile975(degrees), 0.0006);

    /// <summary>Reference values of SplitMix64 for seed 1234567: the generator's published test vector (as widely printed with the algorithm; from memory).</summary>
    [Fact]
    public void The_random_numbers_are_those_of_SplitMix64()
    {
        var random = new SplitMix64(1234567);
        Assert.Equal(6457827717110365317UL, random.Next());
        Assert.Equal(3203168211198807973UL, random.Next());
        Assert.Equal(9817491932198370423UL, random.Next());
    }
}
