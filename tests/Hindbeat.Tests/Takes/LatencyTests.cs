using CsCheck;
using Hindbeat.Takes;
using Hindbeat.Units;

namespace Hindbeat.Tests.Takes;

/// <summary>Clicks heard back at a known delay.</summary>
public class LatencyTests
{
    [Fact]
    public void The_delay_is_found_among_other_sounds_and_lost_clicks() =>
        Gen.Select(Gen.Double[0, 0.6], Gen.Int[0, 1_000_000], Gen.Int[0, 6], Gen.Int[0, 10]).Sample((delay, seed, lost, others) =>
        {
            var dice = new Random(seed);
            AudioTime[] played = [.. LatencyCalibration.Plan.Select(time => AudioTime.FromSeconds(1 + time.Value))];
            var heard = played.Skip(lost).Select(time => AudioTime.FromSeconds(time.TotalSeconds + delay + (0.0005 * ((2 * dice.NextDouble()) - 1)))).ToList();
            for (int i = 0; i < others; i++)
                heard.Add(AudioTime.FromSeconds(12 * dice.NextDouble()));
            Latency found = LatencyCalibration.Measure(played, heard);
            return Math.Abs(found.Delay.Value - delay) < 0.001 && found.Uncertainty.Value < 0.001;
        }, iter: 500);

    [Fact]
    public void Its_interval_holds_the_truth_nineteen_times_in_twenty()
    {
        int held = 0;
        for (int seed = 0; seed < 1000; seed++)
        {
            var dice = new Random(seed);
            AudioTime[] played = [.. LatencyCalibration.Plan.Select(time => AudioTime.FromSeconds(time.Value))];
            AudioTime[] heard = [.. played.Select(time => AudioTime.FromSeconds(time.TotalSeconds + 0.04 + (0.001 * Gaussian(dice))))];
            Latency found = LatencyCalibration.Measure(played, heard);
            if (Math.Abs(found.Delay.Value - 0.04) <= found.Uncertainty.Value)
                held++;
        }

        Assert.InRange(held, 920, 975);
    }

    [Fact]
    public void A_delay_that_wanders_and_clicks_that_are_lost_raise_doubts()
    {
        AudioTime[] played = [.. LatencyCalibration.Plan.Select(time => AudioTime.FromSeconds(time.Value))];
        AudioTime[] wandering = [.. played.Select((time, i) => AudioTime.FromSeconds(time.TotalSeconds + 0.04 + (i % 2 == 0 ? 0.004 : -0.004)))];
        Assert.Single(LatencyCalibration.Measure(played, wandering).Doubts.OfType<LatencyWanders>());
        AudioTime[] few = [.. played.Take(10).Select(time => time + Seconds.Of(0.04))];
        Assert.Single(LatencyCalibration.Measure(played, few).Doubts.OfType<ClicksLost>());
    }

    [Fact]
    public void Silence_and_unrelated_sounds_are_refused()
    {
        AudioTime[] played = [.. LatencyCalibration.Plan.Select(time => AudioTime.FromSeconds(time.Value))];
        Assert.Throws<InputException>(() => LatencyCalibration.Measure(played, []));
        Assert.Throws<InputException>(() => LatencyCalibration.Measure(played, [AudioTime.FromSeconds(3), AudioTime.FromSeconds(4)]));
    }

    private static double Gaussian(Random dice) => Math.Sqrt(-2 * Math.Log(1 - dice.NextDouble())) * Math.Cos(2 * Math.PI * dice.NextDouble());
}
