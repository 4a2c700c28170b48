using System.Globalization;
using Hindbeat.Charting;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Units;

namespace Hindbeat.Accuracy;

/// <summary>
/// Is the chart's rhythm the one a person would read off the take's own click? A dumb reading that knows nothing
/// of ours: the take as a whole lies on 16ths or on 16th triplets, whichever its strokes are nearer to (as a share of
/// the grid's step) once its mean lag behind the click is taken off, and each stroke goes to the nearest place. What
/// a take plays finer than its grid (rolls in 32nds, a few triplets in a straight take) counts against us here.
/// </summary>
internal static class WrittenRhythmReport
{
    private static readonly int[] Divisions = [4, 6];

    /// <summary>A kit's and a drummer's lag behind the click, tried in steps of a 240th of a beat.</summary>
    private const double MostLag = 0.125;

    public static void Print(TextWriter output, IReadOnlyList<GrooveTakes.Take> takes)
    {
        var table = new Table("take", "strokes", "written as nearest", "as placed", "grid", "beats with tuplets");
        int strokes = 0;
        int same = 0;
        int asPlaced = 0;
        foreach (GrooveTakes.Take take in takes)
        {
            KitMidi midi = KitMidiFile.Read(take.Path);
            Performance performance = PulseFinder.PlaceOn(midi.Grid, midi.Hits).Performance;
            Chart chart = ChartMaker.Make(performance, null, new ChartOptions { Title = take.Name });
            Dictionary<int, Fraction> written = Written(chart, performance);
            Dictionary<int, (long Beat, int Division, Fraction Place)> nearest = Nearest(performance);
            int equal = written.Count(pair => nearest[pair.Key].Place == pair.Value);
            int placed = written.Count(pair => performance.Hits[pair.Key].Position is { } position && performance.Pulse.BeatsFromFirst(position) == pair.Value);
            HashSet<long> tupletBeats = [.. written.Where(pair => (pair.Value.Denominator & (pair.Value.Denominator - 1)) != 0).Select(pair => pair.Value.Floor())];
            if (chart.Meter.IsCompound)
                tupletBeats.Clear();
            strokes += written.Count;
            same += equal;
            asPlaced += placed;
            table.Add(take.Name, Whole(written.Count), Table.Share((double)equal / written.Count), Table.Share((double)placed / written.Count), nearest.Values.First().Division == 6 ? "triplets" : "16ths", Whole(tupletBeats.Count));
        }

        table.Add("all", Whole(strokes), Table.Share((double)same / strokes), Table.Share((double)asPlaced / strokes), string.Empty, string.Empty);
        output.WriteLine("## Written rhythm");
        output.WriteLine();
        output.WriteLine(table);
    }

    /// <summary>Beats from the pulse's first beat of every written stroke, graces with their notes left out.</summary>
    private static Dictionary<int, Fraction> Written(Chart chart, Performance performance)
    {
        var places = new Dictionary<int, Fraction>();
        foreach (ChartBar bar in chart.Bars)
        {
            Fraction start = performance.Pulse.BeatsFromFirst(new BarPosition(bar.Number, 1, Fraction.Zero));
            foreach (ChartEvent happening in bar.Voices.SelectMany(voice => voice.Events))
            {
                foreach (ChartNote note in happening.Notes)
                    places[note.Hit] = start + (happening.At / chart.Meter.BeatLength);
            }
        }

        return places;
    }

    private static Dictionary<int, (long Beat, int Division, Fraction Place)> Nearest(Performance performance)
    {
        double[] beats = [.. performance.Hits.Select(hit => performance.Pulse.BeatsAt(hit.Time))];
        (double Cost, int Division, double Lag) best = (double.PositiveInfinity, 0, 0);
        foreach (int division in Divisions)
        {
            for (double lag = -MostLag; lag <= MostLag; lag += 1.0 / 240)
            {
                double cost = beats.Average(beat => Math.Pow(Miss(beat - lag, division) * division, 2));
                if (cost < best.Cost)
                    best = (cost, division, lag);
            }
        }

        return beats.Select((beat, i) => (i, place: Fraction.Nearest(beat - best.Lag, best.Division)))
            .ToDictionary(pair => pair.i, pair => (pair.place.Floor(), best.Division, pair.place));
    }

    private static double Miss(double beats, int division) => Math.Abs(beats - (Math.Round(beats * division) / division));

    private static string Whole(int number) => number.ToString(CultureInfo.InvariantCulture);
}
