using Hindbeat.Performances;
using Hindbeat.Pulses;

namespace Hindbeat.Tests.Pulses;

/// <summary>
/// Real takes with a known click: tests/data/groove-midi (Groove MIDI Dataset, validation split). Tick 0 is a downbeat, the
/// click is constant. Beats count within ±70 ms, the window of mir_eval's beat F-measure.
/// </summary>
public class GrooveMidiTakes
{
    [Theory]
    [InlineData("12_rock_100_beat_4-4")]
    [InlineData("25_hiphop_92_beat_4-4")]
    [InlineData("14_rock_95_beat_4-4")]
    public void Beats_and_bars_are_those_of_the_click(string take)
    {
        KitMidi kit = Read(take);
        Pulse found = PulseFinder.Find(kit.Hits, null, new PulseOptions()).Performance.Pulse;
        Assert.Equal(kit.Grid.MeanTempo.Value, found.MeanTempo.Value, 0);
        double[] downbeats = [.. found.Beats.Where(beat => beat.Number == 1).Select(beat => beat.Time.TotalSeconds)];
        double[] truth = [.. kit.Grid.Beats.Where(beat => beat.Number == 1 && beat.Time < kit.Hits[^1].Time).Select(beat => beat.Time.TotalSeconds)];
        Assert.All(truth.SkipLast(1), one => Assert.Contains(downbeats, other => System.Math.Abs(one - other) < 0.07));
    }

    [Theory]
    [InlineData("14_jazz_100_beat_4-4")]
    [InlineData("5_latin-brazilian_184_beat_4-4")]
    [InlineData("4_rock_80_beat_6-8")]
    public void With_tempo_and_meter_given_beats_are_those_of_the_click(string take)
    {
        KitMidi kit = Read(take);
        PulseOptions options = new() { Tempo = kit.Grid.MeanTempo, Meter = kit.Grid.Meter };
        Pulse found = PulseFinder.Find(kit.Hits, null, options).Performance.Pulse;
        double[] beats = [.. found.Beats.Select(beat => beat.Time.TotalSeconds)];
        Beat[] truth = [.. kit.Grid.Beats.Where(beat => beat.Time >= kit.Hits[0].Time && beat.Time < kit.Hits[^1].Time)];
        int near = truth.Count(beat => beats.Any(other => System.Math.Abs(beat.Time.TotalSeconds - other) < 0.07));
        Assert.True(near >= 0.95 * truth.Length, $"{near} of {truth.Length} beats");
    }

    [Fact]
    public void A_take_written_from_strokes_alone_reads_as_on_its_own_click()
    {
        // 0.92 was measured; the aim is 0.98 (what remains: a curve that still follows the drummer's slow wander).
        KitMidi kit = Read("25_hiphop_92_beat_4-4");
        IReadOnlyList<Hit> found = PulseFinder.Find(kit.Hits, null, new PulseOptions()).Performance.Hits;
        IReadOnlyList<Hit> onClick = PulseFinder.PlaceOn(kit.Grid, kit.Hits).Performance.Hits;
        int same = found.Zip(onClick).Count(pair => pair.First.Position!.Value.Within == pair.Second.Position!.Value.Within);
        Assert.True(same >= 0.9 * found.Count, $"{same} of {found.Count}");
    }

    private static KitMidi Read(string take) =>
        KitMidiFile.Read(Path.Combine(LayerTests.RepositoryRoot(), "tests", "data", "groove-midi", take + ".mid"));
}
