using CsCheck;
using Hindbeat.Charting;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using static Hindbeat.Tests.Charting.WrittenPassages;

namespace Hindbeat.Tests.Charting;

/// <summary>The MusicXML as a foreign reader understands it: the same notes, voices, bars and lengths.</summary>
public class VerovioTests
{
    /// <summary>
    /// Takes of human drummers: Groove MIDI Dataset 1.0.0 (Google LLC, CC BY 4.0). Seven lie in the repository;
    /// HINDBEAT_GROOVE_MIDI may name a folder with more of them.
    /// </summary>
    [SkippableFact]
    public void Human_takes_come_back_note_for_note()
    {
        VerovioReading.Needed();
        string folder = Environment.GetEnvironmentVariable("HINDBEAT_GROOVE_MIDI") ?? Path.Combine(LayerTests.RepositoryRoot(), "tests", "data", "groove-midi");
        string[] files = [.. Directory.EnumerateFiles(folder, "*.mid", SearchOption.AllDirectories).Order(StringComparer.Ordinal)];
        int most = int.TryParse(Environment.GetEnvironmentVariable("HINDBEAT_GROOVE_MIDI_TAKES"), out int asked) ? asked : 500;
        int count = Math.Min(files.Length, most);
        var charts = new List<Chart>();
        for (int i = 0; i < count; i++)
        {
            KitMidi take = KitMidiFile.Read(files[i * files.Length / count]);
            charts.Add(ChartMaker.Make(PulseFinder.PlaceOn(take.Grid, take.Hits).Performance, null, Plain));
        }

        Assert.True(charts.Count >= 7, $"Only {charts.Count} takes were read.");
        Compare(charts);
    }

    [SkippableFact]
    public void Generated_bars_of_every_meter_come_back_note_for_note()
    {
        VerovioReading.Needed();
        var charts = new List<Chart>();
        foreach (string meter in Meters)
        {
            // One thread: the list of charts is shared.
            OrdinaryGridsIn(meter).Sample(performance => charts.Add(ChartMaker.Make(performance, null, Plain)), iter: 5, threads: 1);
        }

        Assert.Equal(Meters.Length * 5, charts.Count);
        ChangingMeters.Sample(performance => charts.Add(ChartMaker.Make(performance, null, Plain)), iter: 20, threads: 1);
        Compare(charts);
    }

    private static void Compare(List<Chart> charts)
    {
        var read = VerovioReading.Read(charts);
        for (int i = 0; i < charts.Count; i++)
        {
            (List<ReadNote> notes, List<Hindbeat.Units.Fraction> bars) = VerovioReading.Expected(charts[i]);
            Assert.Equal(bars, read[i].Bars);
            Assert.Equal(notes, read[i].Notes);
        }
    }
}
