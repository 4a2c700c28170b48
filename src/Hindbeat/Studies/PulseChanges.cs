using Hindbeat.Charting;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Units;

namespace Hindbeat.Studies;

/// <summary>How a pulse edit changes a study: the strokes stay, their written places are made anew.</summary>
internal static class PulseChanges
{
    /// <summary>Fewer taps tell no tempo that one slip could not change.</summary>
    public const int FewestTaps = 4;

    /// <summary>Furthest that a single interval may lie from the middle one, as a share: beyond it a tap was missed or doubled.</summary>
    private const double WildestInterval = 0.35;

    public static StudyState Correct(StudyState state, IReadOnlyList<PulseCorrection> corrections)
    {
        if (corrections.Count == 0)
            return state;
        AudioTime? barOne = state.Corrections.OfType<BarOneSet>().LastOrDefault()?.Time;
        PulseResult pulse = PulseCorrector.Apply(new PulseResult(state.Performance, state.RunnerUp, []), corrections, barOne: barOne);
        bool sameCount = corrections.All(correction => correction is BeatMoved or ShapeStated);
        return state with
        {
            Performance = sameCount ? Keep(state, pulse.Performance) : pulse.Performance,
            PlacedByHand = sameCount ? state.PlacedByHand : [],
            RunnerUp = pulse.RunnerUp,
            PulseDoubts = pulse.Doubts,
            Corrections = [.. state.Corrections, .. corrections],
        };
    }

    /// <summary>
    /// The tempo of the taps, and beat 1 on the beat nearest to the first of them. Beats themselves are not set to taps:
    /// people tap some 20 to 50 ms ahead of what they hear (Repp, "Sensorimotor synchronization", Psychonomic Bulletin &amp;
    /// Review 12, 2005), so taps say which reading is meant and the strokes say where its beats fall.
    /// </summary>
    public static StudyState Tapped(StudyState state, IReadOnlyList<double> taps)
    {
        if (taps.Count < FewestTaps)
            throw new InputException($"Tap at least {FewestTaps} beats, beginning on a 1.");
        double[] intervals = [.. taps.Skip(1).Zip(taps, (next, tap) => next - tap)];
        double middle = intervals.Order().ElementAt(intervals.Length / 2);
        if (!(middle > 0) || intervals.Any(interval => Math.Abs(interval - middle) > WildestInterval * middle))
            throw new InputException("The taps are not even: one was missed or doubled. Tap again, beginning on a 1.");
        double mean = (taps[^1] - taps[0]) / (taps.Count - 1);
        if (60 / mean is < 20 or > 400)
            throw new InputException(FormattableString.Invariant($"The taps give {60 / mean:0} bpm; a beat is counted between 20 and 400."));
        StudyState read = Correct(state, [new TempoStated(Bpm.Of(60 / mean))]);
        Pulse pulse = read.Performance.Pulse;
        // The taps may begin in any bar; bar 1 stays at the passage's start.
        int tapped = Math.Clamp((int)Math.Round(pulse.BeatsAt(AudioTime.FromSeconds(taps[0]))), 0, pulse.Beats.Count - 1);
        return Correct(read, [new BarOneSet(pulse.Beats[tapped % pulse.Meter.BeatsPerBar].Time)]);
    }

    /// <summary>Places that a person chose win over those that the new beats suggest.</summary>
    private static Performance Keep(StudyState state, Performance written)
    {
        Dictionary<(KitPiece, double), BarPosition?> chosen = [];
        foreach (StrokeRef stroke in state.PlacedByHand)
        {
            if (state.Performance.Hits.FirstOrDefault(hit => hit.Piece.Id() == stroke.Piece && hit.Time.TotalSeconds == stroke.Time) is { } hit)
                chosen[(hit.Piece, stroke.Time)] = hit.Position;
        }

        return chosen.Count == 0 ? written : new Performance(written.Pulse, written.Hits.Select(hit =>
            chosen.TryGetValue((hit.Piece, hit.Time.TotalSeconds), out BarPosition? place) ? hit with { Position = place } : hit));
    }
}
