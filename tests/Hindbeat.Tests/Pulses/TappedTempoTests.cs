using CsCheck;
using Hindbeat.Pulses;
using Hindbeat.Units;

namespace Hindbeat.Tests.Pulses;

public class TappedTempoTests
{
    [Fact]
    public void Even_taps_give_their_tempo_and_a_missed_one_changes_nothing()
    {
        Assert.Equal(100, TappedTempo.Of([3, 3.6, 4.2, 4.8, 5.4]).Value, 9);
        Assert.Equal(100, TappedTempo.Of([3, 3.6, 4.8, 5.4, 6.0]).Value, 9);
    }

    [Fact]
    public void The_clock_and_its_start_do_not_matter() =>
        Gen.Select(Gen.Double[40, 240], Gen.Double[-50, 50], Gen.Int[4, 24]).Sample((bpm, start, taps) =>
            Assert.Equal(bpm, TappedTempo.Of([.. Enumerable.Range(0, taps).Select(k => start + (k * 60 / bpm))]).Value, 6));

    [Fact]
    public void Loose_taps_are_within_their_error()
    {
        // Sixteen taps loose by 20 ms: the slope's error is σ·√12/n^1.5 = 1.1 ms of 500 (least squares; docs/decisions/pulse-4-corrections.md).
        Random random = new(4);
        double Loose() => 0.02 * Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
        for (int trial = 0; trial < 50; trial++)
            Assert.InRange(TappedTempo.Of([.. Enumerable.Range(0, 16).Select(k => (k * 0.5) + Loose())]).Value, 119, 121);
    }

    [Theory]
    [InlineData(new[] { 1.0, 1.5, 2.0 }, "too few")]
    [InlineData(new[] { 1.0, 1.5, 2.2, 2.7, 3.2 }, "evenly")]
    [InlineData(new[] { 1.0, 1.5, 1.4, 2.0 }, "rise")]
    [InlineData(new[] { 0.0, 0.1, 0.2, 0.3 }, "600 bpm")]
    public void What_is_no_tempo_is_refused_in_one_line(double[] taps, string word) =>
        Assert.Contains(word, Assert.Throws<InputException>(() => TappedTempo.Of(taps)).Message, StringComparison.Ordinal);
}
