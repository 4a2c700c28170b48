using Hindbeat.Charting;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Units;

namespace Hindbeat.Studies;

/// <summary>
/// How a correction of the pulse changes a study: the strokes stay, what depends on the pulse (written places, figures, doubts about
/// the pulse) is made anew. Edits of the chart are done again, each at the time it was made for.
/// </summary>
internal static class PulseChanges
{
    /// <summary>Fewer taps tell no tempo that one slip could not change.</summary>
    public const int FewestTaps = 4;

    /// <summary>Furthest that a single interval may lie from the middle one, as a share: beyond it a tap was missed or doubled.</summary>
    private const double WildestInterval = 0.35;

    /// <exception cref="InputException">A correction that this pulse does not allow.</exception>
    public static Study Correct(Study study, IReadOnlyList<PulseCorrection> corrections)
    {
        IReadOnlyList<ChartEdit> edits = study.Edits;
        study = StudyEditor.WithoutEdits(study);
        AudioTime? barOne = study.Corrections.OfType<BarOneSet>().LastOrDefault()?.Time;
        PulseResult pulse = PulseCorrector.Apply(new PulseResult(study.Performance, study.RunnerUp, []), corrections, barOne: barOne);
        string pulses = typeof(PulseCorrection).Namespace!;
        Study corrected = study with
        {
            Performance = pulse.Performance,
            Feel = StudyEditor.Measure(pulse.Performance, study.Feel.Options, study.Against),
            RunnerUp = pulse.RunnerUp,
            Doubts = [.. study.Doubts.Where(doubt => doubt.GetType().Namespace != pulses), .. pulse.Doubts],
            Corrections = [.. study.Corrections, .. corrections],
        };
        return StudyEditor.Replay(corrected, edits);
    }

    /// <summary>
    /// The tempo of the taps, and beat 1 on the beat nearest to the first of them. Beats themselves are not set to taps:
    /// people tap some 20 to 50 ms ahead of what they hear (Repp, "Sensorimotor synchronization", Psychonomic Bulletin &amp;
    /// Review 12, 2005), so taps say which reading is meant and the strokes say where its beats fall.
    /// </summary>
    public static Study Tapped(Study study, IReadOnlyList<double> taps)
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
        Study read = Correct(study, [new TempoStated(Bpm.Of(60 / mean))]);
        Pulse pulse = read.Performance.Pulse;
        // The taps may begin in any bar; bar 1 stays at the passage's start.
        int tapped = Math.Clamp((int)Math.Round(pulse.BeatsAt(AudioTime.FromSeconds(taps[0]))), 0, pulse.Beats.Count - 1);
        return Correct(read, [new BarOneSet(pulse.Beats[tapped % pulse.Meter.BeatsPerBar].Time)]);
    }
}
