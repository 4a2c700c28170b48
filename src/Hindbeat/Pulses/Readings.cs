using Hindbeat.Performances;
using Hindbeat.Units;

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
    private const double WorstExplained = 0.6;

    /// <summary>A stated tempo is typed from a click or tapped: its ln is known so well.</summary>
    private const double StatedSpread = 0.02;

    private const double SlowestBpm = 38;
    private const double FastestBpm = 300;

    /// <summary>Of readings that share path, multiple and meter, only this many bar phases are kept.</summary>
    private const int KeptPhases = 10;

    /// <summary>Steps of bar phases as shares of the counted beat are multiples of 1/24: halves, thirds, sixths, eighths.</summary>
    private const int Shifts = 24;

    /// <summary>A reading before its evidence is gathered.</summary>
    private readonly record struct Candidate(BasePath Path, double Beat, double Seconds, double Downbeat, BarProfiles Profiles, BarCounts Counts, double Repetition)
    {
        public double Explained => Repetition + Counts.TimingLog;
    }

    /// <param name="kinds">Kinds of groove to compare with instead of the learned ones: training holds takes out.</param>
    public static IReadOnlyList<Reading> Score(StrokeTrain strokes, IReadOnlyList<BasePath> paths, PulseOptions options, IReadOnlyList<BarProfiles>? kinds = null)
    {
        IReadOnlyList<BarProfiles> compared = options.Meter is { } meter ? [BarProfiles.For(meter)] : kinds ?? BarProfiles.Compared;
        List<Candidate> all = [];
        foreach (BasePath path in paths)
        {
            foreach (double beat in Multiples)
            {
                double seconds = path.MeanBeat * beat;
                double bpm = 60 / seconds;
                if (options.Tempo is { } tempo ? Math.Abs(Math.Log(bpm / tempo.Value)) > 0.08 : bpm is < SlowestBpm or > FastestBpm)
                    continue;
                BarSlots slots = new(seconds);
                SlottedStrokes?[] shifted = new SlottedStrokes?[Shifts];
                foreach (BarProfiles profiles in compared)
                    all.AddRange(Phases(strokes, path, beat, seconds, profiles, options, slots, shifted));
            }
        }

        if (all.Count == 0)
            return [];
        double most = all.Max(candidate => candidate.Explained);
        Dictionary<BarProfiles, SectionScore> sections = compared.ToDictionary(profiles => profiles, profiles => new SectionScore(profiles));
        return [.. all.Where(candidate => candidate.Explained >= most - (WorstExplained * strokes.Count))
            .Select(candidate => Weighed(strokes, candidate, sections[candidate.Profiles], (most - candidate.Explained) / strokes.Count, options.Tempo))
            .OrderByDescending(reading => reading.Score)];
    }

    private static Reading Weighed(StrokeTrain strokes, Candidate candidate, SectionScore sections, double shortfall, Bpm? stated)
    {
        Meter meter = candidate.Profiles.Meter;
        double bpm = 60 / candidate.Seconds;
        BarCounts counts = candidate.Counts;
        (double likeness, double kindTempo) = sections.Of(strokes, counts.SlotOf, Math.Log(bpm));
        double[] evidence = ReadingEvidence.Of(strokes, counts, meter, bpm, candidate.Repetition, likeness, kindTempo,
            WholeTempo.LogOf(meter, bpm, candidate.Path.BeatError / candidate.Path.MeanBeat));
        ReadingEvidence.SetUnexplained(evidence, shortfall);
        double score = ReadingWeights.Score(evidence);
        if (stated is { } tempo)
        {
            double z = Math.Log(bpm / tempo.Value) / StatedSpread;
            score -= 0.5 * z * z;
        }

        return new Reading(candidate.Path, candidate.Beat, candidate.Downbeat, meter, bpm, score, candidate.Explained, evidence);
    }

    /// <param name="shifted">Strokes by how far slot 0 lies behind a beat, filled as phases need them; meters share them.</param>
    private static IEnumerable<Candidate> Phases(
        StrokeTrain strokes, BasePath path, double beat, double seconds, BarProfiles profiles, PulseOptions options, BarSlots slots, SlottedStrokes?[] shifted)
    {
        int perBar = profiles.Meter.BeatsPerBar;
        double step = Math.Min(beat, 1) / 2;
        int phases = (int)Math.Round(perBar * beat / step);
        BarCounts?[] folded = new BarCounts?[Shifts];
        List<Candidate> found = [];
        for (int phase = 0; phase < phases; phase++)
        {
            double downbeat = phase * step;
            if (options.BarOne is { } barOne)
            {
                double bars = (path.PlaceAt(barOne.TotalSeconds) - downbeat) / (beat * perBar);
                if (Math.Abs(bars - Math.Round(bars)) * perBar * beat > 0.3 * step / 0.5)
                    continue;
            }

            int later = Math.DivRem((int)Math.Round(downbeat / beat * Shifts), Shifts, out int shift);
            shifted[shift] ??= SlottedStrokes.Of(strokes, path.Places, beat, beat * shift / Shifts, slots);
            folded[shift] ??= BarCounts.Of(shifted[shift]!, perBar);
            BarCounts counts = folded[shift]!.Later(later);
            found.Add(new Candidate(path, beat, seconds, downbeat, profiles, counts, ProfileScore.Of(profiles, counts)));
        }

        return found.OrderByDescending(candidate => candidate.Explained).Take(KeptPhases);
    }
}
