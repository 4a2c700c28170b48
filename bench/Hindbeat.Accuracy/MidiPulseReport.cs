using Hindbeat.Performances;
using Hindbeat.Pulses;

namespace Hindbeat.Accuracy;

/// <summary>The pulse found from a take's MIDI alone, without sound, against its click.</summary>
internal static class MidiPulseReport
{
    public static void Print(TextWriter output, IReadOnlyList<GrooveTakes.Take> takes)
    {
        var table = new Table("take", "beats F ±70", "downbeats F ±70", "beat error ms", "click", "heard");
        var beatShares = new List<double>();
        var downbeatShares = new List<double>();
        foreach (GrooveTakes.Take take in takes)
        {
            KitMidi midi = KitMidiFile.Read(take.Path);
            Pulse heard = PulseFinder.Find(midi.Hits, null, new PulseOptions()).Performance.Pulse;
            double beat = 60.0 / take.Bpm * 4.0 * take.Meter.BeatLength.ToDouble();
            double last = midi.Hits[^1].Time.TotalSeconds;
            double[] clicks = [.. Enumerable.Range(0, (int)(last / beat) + 1).Select(i => i * beat)];
            double[] downClicks = [.. clicks.Where((_, i) => i % take.Meter.BeatsPerBar == 0)];
            Score beats = Scoring.MatchBeats(clicks, [.. heard.Beats.Select(b => b.Time.TotalSeconds)]);
            Score downbeats = Scoring.MatchBeats(downClicks, [.. heard.Beats.Where(b => b.Number == 1).Select(b => b.Time.TotalSeconds)]);
            beatShares.Add(beats.F);
            downbeatShares.Add(downbeats.F);
            table.Add(take.Name, Table.Share(beats.F), Table.Share(downbeats.F), Table.Milliseconds(beats.ScatterMs).TrimStart('+'), $"{take.Bpm:0.#} {take.Meter}", $"{heard.MeanTempo} {heard.Meter}");
        }

        table.Add("mean", Table.Share(beatShares.Average()), Table.Share(downbeatShares.Average()), string.Empty, string.Empty, string.Empty);
        output.WriteLine("## Pulse from MIDI alone");
        output.WriteLine();
        output.WriteLine(table);
    }
}
