using Hindbeat.Sound;
using Hindbeat.Takes;
using Hindbeat.Units;

namespace Hindbeat.Tests.Takes;

/// <summary>Clicks sent round by a way whose length is known: delayed, softened, turned over, among noise.</summary>
public class CalibrationClicksTests
{
    [Theory]
    [InlineData(44100, 0.0373, 1.0, 0.0)]
    [InlineData(48000, 0.0120, 0.05, 0.002)]
    [InlineData(48000, 0.2501, -0.3, 0.01)]
    [InlineData(96000, 0.0005, 0.5, 0.02)]
    public void The_delay_is_found_within_a_tenth_of_a_millisecond(int rate, double delay, double gain, double noise)
    {
        Latency found = CalibrationClicks.Measure(SentRound(rate, delay, gain, noise), rate);
        Assert.Equal(delay, found.Delay.Value, 1e-4);
        Assert.True(found.Uncertainty.Value < 1e-4, $"It is {found}.");
        Assert.True(found.Clicks >= 20);
        Assert.Empty(found.Doubts);
    }

    /// <summary>A small loudspeaker and a room: high frequencies die (one pole at 3 kHz), a wall answers 9 ms later at half the strength.</summary>
    [Fact]
    public void A_dull_loudspeaker_and_an_echo_move_it_by_less_than_a_millisecond()
    {
        const int rate = 48000;
        float[] sound = SentRound(rate, 0.045, 0.4, 0.003);
        double pole = Math.Exp(-2 * Math.PI * 3000 / rate), low = 0;
        float[] dull = [.. sound.Select(sample => (float)(low = (pole * low) + ((1 - pole) * sample)))];
        int wall = (int)(0.009 * rate);
        for (int i = dull.Length - 1; i >= wall; i--)
            dull[i] += 0.5f * dull[i - wall];
        Latency found = CalibrationClicks.Measure(dull, rate);
        Assert.Equal(45, found.Delay.Milliseconds, 1.0);
    }

    [Fact]
    public void Noise_alone_is_no_click()
    {
        InputException reason = Assert.Throws<InputException>(() => CalibrationClicks.Measure(SentRound(44100, 0, 0, 0.1), 44100));
        Assert.Contains("clicks", reason.Message, StringComparison.Ordinal);
        Assert.Throws<InputException>(() => CalibrationClicks.Measure([], 44100));
        Assert.Throws<InputException>(() => CalibrationClicks.Measure(new float[10], 10));
    }

    private static float[] SentRound(int rate, double delay, double gain, double noise)
    {
        StereoSound clicks = CalibrationClicks.Make(rate);
        var random = new Random(3);
        int late = (int)Math.Round(delay * rate);
        return [.. Enumerable.Range(0, clicks.Left.Length).Select(i => (float)((i >= late ? gain * clicks.Left[i - late] : 0) + (noise * ((2 * random.NextDouble()) - 1))))];
    }
}
