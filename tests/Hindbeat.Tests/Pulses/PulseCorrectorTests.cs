using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Units;
using static Hindbeat.Tests.Pulses.Grooves;

namespace Hindbeat.Tests.Pulses;

public class PulseCorrectorTests
{
    private static readonly List<Hit> Hits = Steady(Rock, 8, 100);

    private static PulseResult OnClick(PulseSource source = PulseSource.Tracked) =>
        PulseFinder.PlaceOn(Pulse.Steady(Meter.FourFour, Bpm.Of(100), AudioTime.FromSeconds(0.5), 33, source: source), Hits);

    private static Performance Apply(params PulseCorrection[] corrections) => PulseCorrector.Apply(OnClick(), corrections).Performance;

    private static double TimeOf(Pulse pulse, int bar, int beat) =>
        pulse.Beats.First(b => b.Bar == bar && b.Number == beat).Time.TotalSeconds;

    [Fact]
    public void Half_and_double_keep_bar_one_and_rewrite_the_strokes()
    {
        Performance half = Apply(new TempoHalved());
        Assert.Equal(50, half.Pulse.MeanTempo.Value, 6);
        Assert.Equal(0.5, TimeOf(half.Pulse, 1, 1), 6);
        // The backbeat on 2 of the quick count lies half-way through beat 1 of the slow one.
        Assert.Contains(half.Hits, hit => hit.Piece == KitPiece.Snare && hit.Position == new BarPosition(1, 1, new Fraction(1, 2)));
        Performance twice = Apply(new TempoDoubled());
        Assert.Equal(200, twice.Pulse.MeanTempo.Value, 6);
        Assert.Contains(twice.Hits, hit => hit.Piece == KitPiece.Snare && hit.Position == new BarPosition(1, 3, Fraction.Zero));
        Performance back = Apply(new TempoDoubled(), new TempoHalved());
        Assert.Equal(OnClick().Performance.Hits.Select(hit => hit.Position), back.Hits.Select(hit => hit.Position));
    }

    [Fact]
    public void Bar_one_moves_to_the_nearest_beat_or_half_beat()
    {
        Performance third = Apply(new BarOneSet(AudioTime.FromSeconds(1.72)));
        Assert.Equal(1.7, TimeOf(third.Pulse, 1, 1), 6);
        Assert.Equal(new BarPosition(0, 3, Fraction.Zero), third.Hits[0].Position);
        Performance offbeat = Apply(new BarOneSet(AudioTime.FromSeconds(0.81)));
        Assert.Equal(0.8, TimeOf(offbeat.Pulse, 1, 1), 6);
        Assert.Equal(PulseSource.ByHand, offbeat.Pulse.Source);
    }

    [Fact]
    public void A_meter_regroups_the_same_beats()
    {
        Pulse pulse = Apply(new MeterStated(new Meter(3, 4))).Pulse;
        Assert.Equal(0.5 + (3 * 0.6), TimeOf(pulse, 2, 1), 6);
    }

    [Fact]
    public void A_moved_beat_takes_its_strokes_deviation_and_leaves_the_others()
    {
        Performance moved = Apply(new BeatMoved(2, 3, AudioTime.FromSeconds(0.5 + (6 * 0.6) + 0.02)));
        Hit kick = moved.Hits.Single(hit => hit.Piece == KitPiece.Kick && hit.Position == new BarPosition(2, 3, Fraction.Zero));
        Assert.Equal(-20, moved.Pulse.DeviationOf(kick)!.Value.Milliseconds, 6);
        Assert.Equal(0.5 + (7 * 0.6), TimeOf(moved.Pulse, 2, 4), 6);
        Assert.Contains("cannot be moved past", Assert.Throws<InputException>(() => Apply(new BeatMoved(2, 3, AudioTime.FromSeconds(9)))).Message, StringComparison.Ordinal);
        Assert.Contains("no beat 5", Assert.Throws<InputException>(() => Apply(new BeatMoved(2, 5, AudioTime.FromSeconds(4)))).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_click_stays_a_click_while_its_beats_stay_on_it()
    {
        PulseSource After(PulseCorrection correction) => PulseCorrector.Apply(OnClick(PulseSource.Click), [correction]).Performance.Pulse.Source;
        Assert.Equal(PulseSource.Click, After(new TempoHalved()));
        Assert.Equal(PulseSource.ByHand, After(new BeatMoved(2, 3, AudioTime.FromSeconds(4.15))));
    }

    [Fact]
    public void A_stated_tempo_reads_the_same_strokes_again()
    {
        Performance slow = Apply(new TempoStated(Bpm.Of(50)));
        Assert.Equal(50, slow.Pulse.MeanTempo.Value, 1);
        Assert.Equal(Hits.Count, slow.Hits.Count);
    }

    [Fact]
    public void Corrections_survive_a_new_listening()
    {
        PulseCorrection[] corrections = [new TempoHalved(), new BarOneSet(AudioTime.FromSeconds(1.7))];
        Performance first = PulseFinder.Find(Hits, null, new PulseOptions { Corrections = corrections }).Performance;
        // The second listener hears everything a trifle earlier and misses a stroke.
        List<Hit> again = [.. Hits.Skip(1).Select(hit => hit with { Time = hit.Time - Seconds.FromMilliseconds(1) })];
        Performance second = PulseFinder.Find(again, null, new PulseOptions { Corrections = corrections }).Performance;
        Assert.Equal(first.Pulse.MeanTempo.Value, second.Pulse.MeanTempo.Value, 2);
        Assert.Equal(TimeOf(first.Pulse, 1, 1), TimeOf(second.Pulse, 1, 1), 0.005);
    }

    [Theory]
    [InlineData("3.2=4.125", 3, 2, 4.125)]
    [InlineData("-1.4=0.3", -1, 4, 0.3)]
    public void A_beat_is_read_from_words(string text, int bar, int beat, double seconds) =>
        Assert.Equal(new BeatMoved(bar, beat, AudioTime.FromSeconds(seconds)), PulseCorrections.ParseBeat(text));

    [Theory]
    [InlineData("3=4")]
    [InlineData("3.2")]
    [InlineData("a.b=c")]
    public void Other_words_are_refused(string text) => Assert.Throws<FormatException>(() => PulseCorrections.ParseBeat(text));
}
