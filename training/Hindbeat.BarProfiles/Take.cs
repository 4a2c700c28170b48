using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Training;

/// <summary>A take's strokes on its click.</summary>
/// <param name="Fold">0, 1 or 2: takes of one session at one tempo are often the same groove and stay together.</param>
internal sealed record Take(string Name, IReadOnlyList<Hit> Hits, Pulse Grid, double Seconds, int Fold)
{
    public const int Folds = 3;

    private static readonly Meter ThreeFour = new(3, 4);
    private static readonly Meter FiveFour = new(5, 4);
    private static readonly Meter SevenEight = new(7, 8);

    public double BeatSeconds => Grid.MeanTempo.Beat.Value;

    public double BarSeconds => BeatSeconds * Grid.Meter.BeatsPerBar;

    public static IReadOnlyList<Take> Read(string folder, string split)
    {
        List<Take> takes = [];
        foreach (string line in File.ReadLines(Path.Combine(folder, "info.csv")).Skip(1))
        {
            // drummer,session,id,style,bpm,beat_type,time_signature,midi_filename,duration,split
            string[] cells = line.Split(',');
            if (cells[9] != split || cells[5] != "beat")
                continue;
            KitMidi kit = KitMidiFile.Read(Path.Combine(folder, cells[7]));
            takes.Add(new Take(cells[2] + " " + cells[3], kit.Hits, kit.Grid, double.Parse(cells[8], CultureInfo.InvariantCulture), FoldOf(cells[1] + cells[4])));
        }

        return takes;
    }

    /// <summary>
    /// The same playing with beats cut out of every bar of 4/4: in 3/4 one of beats 2 to 4 is missing, in 7/8 the last half beat, in 5/4 every second
    /// bar keeps two beats. The data hold four takes in 3/4, one in 5/4 and none in 7/8.
    /// </summary>
    public Take? InMeter(Meter meter, int variant)
    {
        if (Grid.Meter != Meter.FourFour)
            return null;
        // Half beats that stay, of one bar or two.
        bool[] stays;
        if (meter == ThreeFour)
            stays = [.. Enumerable.Range(0, 8).Select(half => half / 2 != 1 + (variant % 3))];
        else if (meter == SevenEight)
            stays = [.. Enumerable.Range(0, 8).Select(half => half != 7)];
        else if (meter == FiveFour)
            stays = [.. Enumerable.Range(0, 16).Select(half => half / 2 is 0 or 1 or 2 or 6 or 7)];
        else
            return null;
        int kept = stays.Count(stay => stay);
        double halfBeat = BeatSeconds / 2;
        List<Hit> hits = [];
        foreach (Hit hit in Hits)
        {
            double place = hit.Time.TotalSeconds / halfBeat;
            double group = Math.Floor((place + 0.12) / stays.Length);
            double within = place - (group * stays.Length);
            int half = Math.Clamp((int)Math.Floor(within + 0.12), 0, stays.Length - 1);
            if (stays[half])
                hits.Add(hit with { Time = AudioTime.FromSeconds(((group * kept) + stays.Take(half).Count(stay => stay) + within - half) * halfBeat) });
        }

        if (hits.Count < 8)
            return null;
        Hit[] sorted = [.. hits.OrderBy(hit => hit.Time)];
        double bpm = (meter == SevenEight ? 120 : 60) / BeatSeconds;
        double end = sorted[^1].Time.TotalSeconds;
        Pulse grid = Pulse.Steady(meter, Bpm.Of(bpm), AudioTime.FromSeconds(0), (int)(end * bpm / 60) + 3);
        return this with { Hits = sorted, Grid = grid, Seconds = end };
    }

    /// <summary>The same playing to a tempo that changes: a slow wave, a ritardando or accelerando at the end, or a jump.</summary>
    public Take Bent(Random random)
    {
        double span = Hits[^1].Time.TotalSeconds + 1;
        int kind = random.Next(3);
        double depth = kind switch { 0 => 0.02 + (0.03 * random.NextDouble()), 1 => (random.NextDouble() < 0.75 ? 1 : -1) * (0.05 + (0.2 * random.NextDouble())), _ => (random.NextDouble() - 0.5) * 0.08 };
        double wave = 15 + (25 * random.NextDouble());
        double from = kind == 1 ? Math.Max(span * 0.4, span - (BarSeconds * (2 + random.Next(7)))) : span * (0.2 + (0.6 * random.NextDouble()));
        // Longer beats by this share at a moment of the take.
        double Stretch(double time) => kind switch
        {
            0 => depth * Math.Sin(2 * Math.PI * time / wave),
            1 => depth * Math.Clamp((time - from) / (span - from), 0, 1),
            _ => time < from ? 0 : depth,
        };
        const double step = 0.005;
        double[] at = new double[(int)(span / step) + 400];
        for (int i = 1; i < at.Length; i++)
            at[i] = at[i - 1] + (step * (1 + Stretch((i - 0.5) * step)));
        AudioTime Bend(AudioTime time)
        {
            double place = time.TotalSeconds / step;
            int left = Math.Clamp((int)place, 0, at.Length - 2);
            return AudioTime.FromSeconds(at[left] + ((place - left) * (at[left + 1] - at[left])));
        }

        Beat[] beats = [.. Grid.Beats.Where(beat => beat.Time.TotalSeconds < span + 1).Select(beat => beat with { Time = Bend(beat.Time) })];
        return this with { Hits = [.. Hits.Select(hit => hit with { Time = Bend(hit.Time) })], Grid = new Pulse(Grid.Meter, beats, Grid.Confidence, Grid.Source) };
    }

    /// <summary>The same playing a little slower or faster, as it is without a click: its tempo is no whole number then.</summary>
    public Take Stretched(Random random)
    {
        double by = 1 + (0.06 * (random.NextDouble() - 0.5));
        AudioTime At(AudioTime time) => AudioTime.FromSeconds(time.TotalSeconds * by);
        Beat[] beats = [.. Grid.Beats.Select(beat => beat with { Time = At(beat.Time) })];
        return this with { Hits = [.. Hits.Select(hit => hit with { Time = At(hit.Time) })], Grid = new Pulse(Grid.Meter, beats, Grid.Confidence, Grid.Source), Seconds = Seconds * by };
    }

    /// <summary>FNV-1a with a mixing step: the same on every run.</summary>
    private static int FoldOf(string group)
    {
        uint hash = 2166136261;
        foreach (char letter in group)
            hash = (hash ^ letter) * 16777619;
        hash ^= hash >> 15;
        hash *= 0x2c1b3c6d;
        hash ^= hash >> 12;
        return (int)(hash % Folds);
    }
}
