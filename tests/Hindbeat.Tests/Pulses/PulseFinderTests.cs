using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Units;

namespace Hindbeat.Tests.Pulses;

public class PulseFinderTests
{
    private static PulseResult Find(IReadOnlyList<Hit> hits, PulseOptions? options = null) => PulseFinder.Find(hits, null, options ?? new PulseOptions());

    [Theory]
    [InlineData(72)]
    [InlineData(96)]
    [InlineData(120)]
    public void A_steady_rock_beat_is_counted_as_played(double bpm)
    {
        Performance found = Find(Grooves.Steady(Grooves.Rock, 8, bpm)).Performance;
        Assert.Equal(Meter.FourFour, found.Meter);
        Assert.Equal(bpm, found.Pulse.MeanTempo.Value, 1);
        Beat one = found.Pulse.Beats.First(beat => beat.Bar == 1 && beat.Number == 1);
        Assert.Equal(0.5, one.Time.TotalSeconds, 3);
        Assert.All(found.PlacedHits(), placed => Assert.InRange(placed.Deviation.Milliseconds, -1, 1));
    }

    [Fact]
    public void Sixteenths_are_written_as_sixteenths()
    {
        Performance found = Find(Grooves.Steady(Grooves.Sixteenths, 8, 92)).Performance;
        Assert.Contains(found.Hits, hit => hit.Position == new BarPosition(1, 1, new Fraction(3, 4)) && hit.Piece == KitPiece.Kick);
        Assert.Contains(found.Hits, hit => hit.Position == new BarPosition(8, 3, new Fraction(1, 4)) && hit.Piece == KitPiece.Snare);
    }

    [Fact]
    public void A_given_bar_one_is_kept()
    {
        List<Hit> hits = Grooves.Steady(Grooves.Rock, 8, 100);
        PulseOptions options = new() { BarOne = AudioTime.FromSeconds(0.5 + (2 * 0.6)) };
        Beat one = Find(hits, options).Performance.Pulse.Beats.First(beat => beat.Bar == 1 && beat.Number == 1);
        Assert.Equal(1.7, one.Time.TotalSeconds, 2);
    }

    [Fact]
    public void A_given_tempo_is_kept()
    {
        Performance found = Find(Grooves.Steady(Grooves.Rock, 8, 100), new PulseOptions { Tempo = Bpm.Of(50) }).Performance;
        Assert.Equal(50, found.Pulse.MeanTempo.Value, 1);
    }

    [Fact]
    public void Too_little_to_count_is_refused_in_one_line()
    {
        Assert.Contains("only one stroke", Assert.Throws<InputException>(() => Find([Grooves.Of(1, KitPiece.Kick)])).Message, StringComparison.Ordinal);
        Assert.Throws<InputException>(() => Find([]));
        Assert.Throws<InputException>(() => Find([Grooves.Of(1, KitPiece.Kick), Grooves.Of(1.1, KitPiece.Snare), Grooves.Of(1.2, KitPiece.Kick), Grooves.Of(1.3, KitPiece.Snare)]));
    }

    [Fact]
    public void Strokes_placed_on_a_given_pulse_leave_it_as_it_is()
    {
        Pulse pulse = Pulse.Steady(Meter.FourFour, Bpm.Of(92), AudioTime.FromSeconds(0.5), 33);
        Performance placed = PulseFinder.PlaceOn(pulse, Grooves.Steady(Grooves.Sixteenths, 8, 92)).Performance;
        Assert.Same(pulse, placed.Pulse);
        Assert.All(placed.PlacedHits(), hit => Assert.InRange(hit.Deviation.Milliseconds, -0.01, 0.01));
    }

    [Fact]
    public void A_kit_that_is_late_as_a_whole_is_written_where_it_is_meant()
    {
        // 45 ms late at 142 bpm is 0.11 beat, near a 32nd.
        Pulse pulse = Pulse.Steady(Meter.FourFour, Bpm.Of(142), AudioTime.FromSeconds(0.5), 33);
        Performance placed = PulseFinder.PlaceOn(pulse, Grooves.Steady(Grooves.Rock, 8, 142, start: 0.545)).Performance;
        Assert.All(placed.PlacedHits(), hit => Assert.Equal(45, hit.Deviation.Milliseconds, 0.01));
    }

    [Fact]
    public void Strokes_before_and_after_a_given_pulse_are_written_on_its_continuation()
    {
        Pulse pulse = Pulse.Steady(Meter.FourFour, Bpm.Of(120), AudioTime.FromSeconds(10), 9, firstBar: 5);
        Performance placed = PulseFinder.PlaceOn(pulse, [Grooves.Of(9.5, KitPiece.Snare), Grooves.Of(10, KitPiece.Kick), Grooves.Of(15.25, KitPiece.Snare), Grooves.Of(16, KitPiece.Kick)]).Performance;
        Assert.Equal(
            [new BarPosition(4, 4, Fraction.Zero), new BarPosition(5, 1, Fraction.Zero), new BarPosition(7, 3, new Fraction(1, 2)), new BarPosition(8, 1, Fraction.Zero)],
            placed.Hits.Select(hit => hit.Position!.Value));
    }
}
