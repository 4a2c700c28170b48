using Hindbeat.Listening;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Pulses;

/// <summary>
/// Finds the beats, bars and meter of a passage from its strokes, and writes each stroke down.
/// </summary>
/// <remarks>
/// Base paths (periods followed through the passage) → readings (each path counted in several tempi, meters and bar
/// phases, scored by how well the whole passage explains itself) → written places and tempo curve of the best.
/// Linear in the length of the passage. Positive deviation = late.
/// </remarks>
public static class PulseFinder
{
    /// <summary>Fewer strokes show no period that a drummer could not deny.</summary>
    public const int FewestHits = 4;

    /// <param name="hits">Any order.</param>
    /// <param name="strength">The sound's onset strength where there is a sound.</param>
    /// <exception cref="InputException">Too few strokes or too short a passage for a pulse.</exception>
    public static PulseResult Find(IReadOnlyList<Hit> hits, OnsetStrength? strength, PulseOptions options)
    {
        ArgumentNullException.ThrowIfNull(hits);
        ArgumentNullException.ThrowIfNull(options);
        Hit[] sorted = [.. hits.OrderBy(hit => hit.Time).ThenBy(hit => hit.Piece)];
        Check(sorted);
        StrokeTrain strokes = StrokeTrain.From(sorted);
        IReadOnlyList<BasePath> paths = BasePaths.Find(strokes, strength, options.Tempo?.Beat.Value);
        IReadOnlyList<Reading> readings = Readings.Score(strokes, paths, options);
        if (readings.Count == 0)
            throw new InputException(NoReading(options));
        PulseJudgement judgement = PulseJudgement.Of(readings, strokes);
        Reading best = judgement.Best;

        (double[] beats, int firstIndex) = ReadingBeats.Of(best, strokes, options.BarOne);
        Written written = PassageWriter.Write(sorted, strokes, beats, best.Meter.IsCompound, options.Shape, options.Tempo?.Beat.Value);
        Pulse pulse = ReadingBeats.ToPulse(best.Meter, written.Beats, firstIndex, judgement.Confidence, PulseSource.Tracked);
        PulseResult result = Result(pulse, written, judgement.RunnerUp, [.. judgement.Doubts, .. written.Doubts]);
        return PulseCorrector.Apply(result, options.Corrections, strength);
    }

    /// <summary>Writes strokes down on a given pulse, which stays as it is.</summary>
    /// <exception cref="InputException">No strokes.</exception>
    public static PulseResult PlaceOn(Pulse pulse, IReadOnlyList<Hit> hits)
    {
        ArgumentNullException.ThrowIfNull(pulse);
        ArgumentNullException.ThrowIfNull(hits);
        if (hits.Count == 0)
            throw new InputException("There are no strokes to write down.");
        Hit[] sorted = [.. hits.OrderBy(hit => hit.Time).ThenBy(hit => hit.Piece)];
        Written written = PassageWriter.WriteOn(sorted, StrokeTrain.From(sorted), pulse);
        return Result(pulse, written, null, written.Doubts);
    }

    /// <summary>Fits the tempo curve again through strokes written on a pulse.</summary>
    internal static Written Refit(IReadOnlyList<Hit> hits, Pulse pulse, TempoShape shape)
    {
        Hit[] sorted = [.. hits.OrderBy(hit => hit.Time).ThenBy(hit => hit.Piece)];
        double[] beats = [.. pulse.Beats.Select(beat => beat.Time.TotalSeconds)];
        return PassageWriter.Write(sorted, StrokeTrain.From(sorted), beats, pulse.Meter.IsCompound, shape, null);
    }

    private static PulseResult Result(Pulse pulse, Written written, string? runnerUp, IReadOnlyList<Doubt> doubts)
    {
        Hit[] placed = [.. written.Hits.Select((hit, i) => hit with { Position = pulse.PositionAt(written.Places[i]) })];
        return new PulseResult(new Performance(pulse, placed), runnerUp, doubts);
    }

    private static void Check(Hit[] hits)
    {
        if (hits.Length < FewestHits)
            throw new InputException($"There {(hits.Length == 1 ? "is only one stroke" : $"are only {hits.Length} strokes")}; a pulse needs at least {FewestHits}.");
        if ((hits[^1].Time - hits[0].Time).Value < 0.7)
            throw new InputException($"The strokes span {(hits[^1].Time - hits[0].Time).Value:0.00} s; a pulse needs at least two beats of them.");
        if (hits[^1].Time.TotalSeconds - hits[0].Time.TotalSeconds > 6 * 3600)
            throw new InputException($"The last stroke is at {hits[^1].Time.TotalSeconds:0} s; were sample indices passed for seconds?");
    }

    private static string NoReading(PulseOptions options) => options switch
    {
        { Tempo: { } tempo } => $"No pulse near {tempo} fits the strokes; check the stated tempo, or leave it out.",
        _ => "The strokes show no regular pulse between 38 and 300 bpm.",
    };
}
