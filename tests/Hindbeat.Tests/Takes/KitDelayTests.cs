using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Takes;
using Hindbeat.Units;

namespace Hindbeat.Tests.Takes;

/// <summary>Pads struck at known moments, told of at known moments later, heard by a microphone whose own delay is known.</summary>
public class KitDelayTests
{
    private const int Rate = 48000;

    private static readonly Latency Microphone = new(Seconds.FromMilliseconds(37.5), Seconds.FromMilliseconds(0.2), Seconds.FromMilliseconds(0.3), 24, []);

    [Theory]
    [InlineData(6.3, 0.0, 0.0)]
    [InlineData(11.8, 0.8, 0.002)]
    [InlineData(24.0, 0.5, 0.01)]
    public void The_delay_is_measured_within_what_it_says(double delayMs, double jitterMs, double noise)
    {
        (float[] heard, var told) = Struck(16, delayMs, jitterMs, noise);
        Latency found = KitDelay.Measure(heard, Rate, told, Microphone);
        Assert.InRange(delayMs, (found.Delay - found.Uncertainty).Milliseconds - 0.1, (found.Delay + found.Uncertainty).Milliseconds + 0.1);
        // The microphone's own uncertainty is in it.
        Assert.InRange(found.Uncertainty.Milliseconds, 0.2, 1.0);
        Assert.True(found.OfKit);
        Assert.Equal(16, found.Clicks);
        Assert.Empty(found.Doubts);
    }

    [Fact]
    public void Strokes_that_only_one_of_the_two_knows_do_not_move_it()
    {
        (float[] heard, var told) = Struck(16, 8, 0.3, 0.001);
        // A note that nobody struck, a stroke that was not told, and one told 40 ms late.
        told.RemoveAt(4);
        told.Add((AudioTime.FromSeconds(told[^1].Told.TotalSeconds + 0.3), KitPiece.Snare));
        told[7] = (told[7].Told + Seconds.FromMilliseconds(40), KitPiece.Snare);
        Assert.Equal(8, KitDelay.Measure(heard, Rate, told, Microphone).Delay.Milliseconds, 0.4);
    }

    [Fact]
    public void Pads_that_differ_and_a_kit_that_wanders_raise_doubts()
    {
        (float[] heard, var told) = Struck(16, 8, 0.2, 0.001);
        List<(AudioTime Told, KitPiece Piece)> two = [.. told.Select((note, i) => i % 2 == 0 ? note : (note.Told + Seconds.FromMilliseconds(4), KitPiece.Kick))];
        PadsDiffer differ = Assert.IsType<PadsDiffer>(Assert.Single(KitDelay.Measure(heard, Rate, two, Microphone).Doubts));
        Assert.Equal(4, differ.Spread.Milliseconds, 0.3);
        Assert.Equal(("kick", "snare"), (differ.Slowest, differ.Quickest));
        (heard, told) = Struck(16, 12, 8, 0.001);
        Assert.IsType<KitDelayWanders>(Assert.Single(KitDelay.Measure(heard, Rate, told, Microphone).Doubts));
    }

    [Fact]
    public void Too_few_strokes_and_strokes_that_the_microphone_does_not_hear_are_refused()
    {
        (float[] heard, var told) = Struck(7, 8, 0.2, 0.001);
        Assert.Contains("Only 7 of 7", Assert.Throws<InputException>(() => KitDelay.Measure(heard, Rate, told, Microphone)).Message, StringComparison.Ordinal);
        (heard, told) = Struck(16, 8, 0.2, 0.5);
        Assert.Throws<InputException>(() => KitDelay.Measure(heard, Rate, told, Microphone));
        Assert.Throws<InputException>(() => KitDelay.Measure([], Rate, told, Microphone));
        Assert.Throws<InputException>(() => KitDelay.Measure(heard, 10, told, Microphone));
    }

    /// <summary>A kit that tells 9 ms late, played 15 ms behind the click: what is told against the click is the 15.</summary>
    [Fact]
    public void The_kit_s_delay_and_its_uncertainty_are_taken_into_what_is_told_against_the_click()
    {
        Pulse click = Pulse.Steady(Meter.FourFour, ChangedTake.Passage.Pulse.MeanTempo, AudioTime.FromSeconds(2), 32);
        var known = new Latency(Seconds.FromMilliseconds(9), Seconds.FromMilliseconds(3), Seconds.Zero, 16, []) { OfKit = true };
        AlignedTake take = TakeAligner.Align(ChangedTake.Passage, ChangedTake.Play(2, 24, Dials.AsWritten with { Looseness = 1 }, startMs: 2024), click, known);
        ClickLateness late = TakeComparison.Of(ChangedTake.Passage, take, latency: known).AgainstClick!;
        Assert.InRange(15, late.Late.Low, late.Late.High);
        ClickLateness exact = TakeComparison.Of(ChangedTake.Passage, take, latency: known with { Uncertainty = Seconds.Zero }).AgainstClick!;
        // Two independent errors add by their squares.
        Assert.Equal(Math.Sqrt((exact.Late.HalfWidth * exact.Late.HalfWidth) + 9), late.Late.HalfWidth, 1e-6);
        Assert.EndsWith("the kit's own delay (stroke to MIDI) of 9.0 ms ± 3.0 ms (in the interval) is taken off.", late.Text, StringComparison.Ordinal);
        Assert.EndsWith("of 9.0 ms, taken as exact, is taken off.", exact.Text, StringComparison.Ordinal);
    }

    /// <summary>Bursts of noise that rise within half a millisecond and ring for thirty, at uneven distances; the microphone takes them in its own delay later.</summary>
    private static (float[] Heard, List<(AudioTime Told, KitPiece Piece)> Told) Struck(int strokes, double delayMs, double jitterMs, double noise)
    {
        var dice = new Random(5);
        float[] heard = new float[(int)((1 + (0.6 * strokes) + 1) * Rate)];
        for (int i = 0; i < heard.Length; i++)
            heard[i] = (float)(noise * ((2 * dice.NextDouble()) - 1));
        var told = new List<(AudioTime, KitPiece)>();
        for (int stroke = 0; stroke < strokes; stroke++)
        {
            double struck = 0.7 + (0.6 * stroke) + (0.05 * dice.NextDouble());
            int at = (int)((struck + Microphone.Delay.Value) * Rate);
            for (int i = 0; i < 0.15 * Rate; i++)
                heard[at + i] += (float)(0.4 * Math.Min(1, i / (0.0005 * Rate)) * Math.Exp(-i / (0.03 * Rate)) * ((2 * dice.NextDouble()) - 1));
            told.Add((AudioTime.FromSeconds(struck + (delayMs / 1000) + (jitterMs / 1000 * ((2 * dice.NextDouble()) - 1))), KitPiece.Snare));
        }

        return (heard, told);
    }
}
