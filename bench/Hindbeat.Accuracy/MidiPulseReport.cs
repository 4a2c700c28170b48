using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Units;

namespace Hindbeat.Accuracy;

/// <summary>The pulse found from takes' MIDI alone, without sound, against their click: the pulse's table of targets.</summary>
internal static class MidiPulseReport
{
    /// <summary>A take's bars are read right above this F of beats and downbeats.</summary>
    private const double ReadRight = 0.9;

    /// <param name="Steadiness">Of the matched beats: median distance from their median error, milliseconds.</param>
    /// <param name="Places">Hits written where the take's own click has them.</param>
    private sealed record Row(string Name, Score Beats, Score Downbeats, bool TempoRight, double Steadiness, int Places, int Hits, bool? DriftZero, double Confidence, string Truth, string Heard, string? RunnerUp)
    {
        public bool IsRight => Beats.F > ReadRight && Downbeats.F > ReadRight;
    }

    public static void Print(TextWriter output, IReadOnlyList<GrooveTakes.Take> takes, string split)
    {
        List<Row> rows = [.. takes.Select(Judge)];
        var table = new Table("take", "beats F ±70", "downbeats F ±70", "beat error ms", "places", "drift 0", "click", "heard", "confidence", "runner-up");
        foreach (Row row in rows.OrderBy(row => row.Beats.F + row.Downbeats.F))
        {
            table.Add(row.Name, Table.Share(row.Beats.F), Table.Share(row.Downbeats.F), Table.Milliseconds(row.Steadiness).TrimStart('+'), Table.Share((double)row.Places / row.Hits),
                row.DriftZero switch { true => "yes", false => "no", null => "–" }, row.Truth, row.Heard, Table.Share(row.Confidence), row.RunnerUp ?? "–");
        }

        output.WriteLine($"## Pulse from MIDI alone, {rows.Count} {split} takes");
        output.WriteLine();
        output.WriteLine(table);

        List<Row> right = [.. rows.Where(row => row.IsRight)];
        List<Row> withDrift = [.. rows.Where(row => row.DriftZero is not null)];
        var sum = new Table("figure", "reached", "target");
        sum.Add("beats F ±70 ms", Table.Share(rows.Average(row => row.Beats.F)), "0.98");
        sum.Add("downbeats F ±70 ms", Table.Share(rows.Average(row => row.Downbeats.F)), "0.93");
        sum.Add("takes with the right tempo", $"{rows.Count(row => row.TempoRight)} of {rows.Count}", "–");
        sum.Add($"beat time against the click, constant removed, median of {right.Count} takes read right, ms", Table.Milliseconds(Statistics.Median([.. right.Select(row => row.Steadiness)])).TrimStart('+'), "2");
        sum.Add("the same, nine takes of ten within, ms", Table.Milliseconds(Statistics.Quantile([.. right.Select(row => row.Steadiness)], 0.9)).TrimStart('+'), "–");
        sum.Add($"written position as on the take's own click, takes read right", Table.Share((double)right.Sum(row => row.Places) / right.Sum(row => row.Hits)), "0.98");
        sum.Add("the same, all takes", Table.Share((double)rows.Sum(row => row.Places) / rows.Sum(row => row.Hits)), "–");
        sum.Add($"no drift: zero inside its interval ({withDrift.Count} takes long enough)", Table.Share(withDrift.Average(row => row.DriftZero == true ? 1.0 : 0.0)), "0.95");
        foreach ((string name, double error) in SyntheticDrift.Errors())
            sum.Add($"{name}: largest error of the tempo, %", error.ToString("0.00", CultureInfo.InvariantCulture), "0.5");
        output.WriteLine(sum);

        var bands = new Table("confidence", "takes", "beats and bars right");
        foreach (IGrouping<int, Row> band in rows.GroupBy(row => Math.Min(4, (int)(row.Confidence * 5))).OrderBy(band => band.Key))
        {
            bands.Add(string.Create(CultureInfo.InvariantCulture, $"{band.Key * 0.2:0.0}–{(band.Key + 1) * 0.2:0.0}"), band.Count().ToString(CultureInfo.InvariantCulture),
                Table.Share(band.Average(row => row.IsRight ? 1.0 : 0.0)));
        }

        output.WriteLine(bands);
        output.WriteLine("Weights, kinds of groove and bounds were chosen on the train split.\n");
    }

    private static Row Judge(GrooveTakes.Take take)
    {
        KitMidi midi = KitMidiFile.Read(take.Path);
        PulseResult result = PulseFinder.Find(midi.Hits, null, new PulseOptions());
        Pulse heard = result.Performance.Pulse;
        double beat = 60.0 / take.Bpm * 4.0 * take.Meter.BeatLength.ToDouble();
        double last = midi.Hits[^1].Time.TotalSeconds;
        double[] clicks = [.. Enumerable.Range(0, (int)(last / beat) + 1).Select(i => i * beat)];
        double[] downClicks = [.. clicks.Where((_, i) => i % take.Meter.BeatsPerBar == 0)];
        Score beats = Scoring.MatchBeats(clicks, [.. heard.Beats.Select(b => b.Time.TotalSeconds)]);
        Score downbeats = Scoring.MatchBeats(downClicks, [.. heard.Beats.Where(b => b.Number == 1).Select(b => b.Time.TotalSeconds)]);
        Estimate drift = FeelAnalysis.Measure(result.Performance).Tempo.DriftBpmPerMinute;
        return new Row(take.Name, beats, downbeats, Math.Abs(Math.Log(heard.MeanTempo.Value * beat / 60)) < 0.04, beats.ScatterMs, SamePlaces(midi, result.Performance), midi.Hits.Count,
            last < 12 ? null : drift.Low <= 0 && drift.High >= 0, heard.Confidence,
            $"{60 / beat:0.#} {take.Meter}", $"{heard.MeanTempo} {heard.Meter}", result.RunnerUp);
    }

    /// <summary>Hits written at the beat and fraction where the take's own click, shifted to the kit's habit, has them.</summary>
    private static int SamePlaces(KitMidi midi, Performance found)
    {
        Pulse grid = midi.Grid;
        IReadOnlyList<Hit> truth = PulseFinder.PlaceOn(grid, midi.Hits).Performance.Hits;
        int same = 0;
        for (int i = 0; i < truth.Count; i++)
        {
            BarPosition place = found.Hits[i].Position!.Value;
            double beat = Math.Round(grid.BeatsAt(found.Pulse.TimeAt(new BarPosition(place.Bar, place.Beat, Fraction.Zero))));
            if (Math.Abs(beat + place.Within.ToDouble() - grid.BeatsFromFirst(truth[i].Position!.Value).ToDouble()) < 1e-6)
                same++;
        }

        return same;
    }
}
