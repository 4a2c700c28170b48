namespace Hindbeat.Pulses;

/// <summary>All ways to count a passage that are worth comparing, each scored, best first.</summary>
internal static class Readings
{
    /// <summary>Counted beats as multiples of a base path's beat.</summary>
    private static readonly double[] Multiples = [1.0 / 3, 0.5, 2.0 / 3, 1, 4.0 / 3, 1.5, 2, 3, 4];

    /// <summary>
    /// A reading that explains the strokes this much worse than another (nats a stroke) is not compared further: measured on
    /// takes, octaves lie within 0.2 of each other, another meter or three against two 0.2 to 0.4 below.
    /// </summary>
    private const double WorstExplained = 0.2;

    private const double SlowestBpm = 38;
    private const double FastestBpm = 300;

    /// <summary>Of readings that share path, multiple and meter, only this many bar phases are kept.</summary>
    private const int KeptPhases = 10;

    public static IReadOnlyList<Reading> Score(StrokeTrain strokes, IReadOnlyList<BasePath> paths, PulseOptions options)
    {
        List<Reading> all = [];
        foreach (BasePath path in paths)
        {
            foreach (double beat in Multiples)
            {
                double seconds = path.MeanBeat * beat;
                double bpm = 60 / seconds;
                if (options.Tempo is { } tempo ? Math.Abs(Math.Log(bpm / tempo.Value)) > 0.08 : bpm is < SlowestBpm or > FastestBpm)
                    continue;
                foreach (BarProfiles profiles in options.Meter is { } meter ? [BarProfiles.For(meter)] : BarProfiles.Compared)
                {
                    all.AddRange(Phases(strokes, path, beat, seconds, profiles, options));
                }
            }
        }

        if (all.Count == 0)
            return all;
        double most = all.Max(reading => reading.Explained);
        return [.. all.Where(reading => reading.Explained >= most - (WorstExplained * strokes.Count))
            .Select(reading =>
            {
                ReadingEvidence.SetUnexplained(reading.Evidence, (most - reading.Explained) / strokes.Count);
                return reading with { Score = ReadingWeights.Score(reading.Evidence) };
            })
            .OrderByDescending(reading => reading.Score)];
    }

    private static IEnumerable<Reading> Phases(StrokeTrain strokes, BasePath path, double beat, double seconds, BarProfiles profiles, PulseOptions options)
    {
        ProfileScore repetition = new(profiles);
        SectionScore sections = new(profiles);
        double step = Math.Min(beat, 1) / 2;
        int phases = (int)Math.Round(profiles.Meter.BeatsPerBar * beat / step);
        List<(double Downbeat, BarCounts Counts, double Repetition)> found = [];
        for (int phase = 0; phase < phases; phase++)
        {
            double downbeat = phase * step;
            if (options.BarOne is { } barOne)
            {
                double bars = (path.PlaceAt(barOne.TotalSeconds) - downbeat) / (beat * profiles.Meter.BeatsPerBar);
                if (Math.Abs(bars - Math.Round(bars)) * profiles.Meter.BeatsPerBar * beat > 0.3 * step / 0.5)
                    continue;
            }

            BarCounts counts = BarCounts.Of(strokes, path.Places, beat, downbeat, profiles.Meter.BeatsPerBar, seconds);
            found.Add((downbeat, counts, repetition.Of(counts)));
        }

        foreach ((double downbeat, BarCounts counts, double repeated) in found.OrderByDescending(phase => phase.Repetition + phase.Counts.TimingLog).Take(KeptPhases))
        {
            double[] evidence = ReadingEvidence.Of(strokes, counts, profiles.Meter, 60 / seconds, repeated, sections.Of(strokes, counts.SlotOf));
            yield return new Reading(path, beat, downbeat, profiles.Meter, 60 / seconds, 0, repeated + counts.TimingLog, evidence);
        }
    }
}
