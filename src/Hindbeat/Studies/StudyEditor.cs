using Hindbeat.Feel;
using Hindbeat.Pulses;
using Hindbeat.Units;

namespace Hindbeat.Studies;

/// <summary>
/// Changes a study by hand: an edit in, the new study out, with everything made anew that depends on it (written places,
/// figures, doubts). Nothing is listened to again. Undoing does the edits before the last again from the study as it was made, so it
/// is exact; studies are immutable, so an edit that cannot be done leaves nothing half done.
/// </summary>
public static class StudyEditor
{
    /// <summary>Does one edit; what was undone can then no longer be redone.</summary>
    /// <exception cref="InputException">It cannot be done; the message says why.</exception>
    public static Study Do(Study study, StudyEdit edit)
    {
        ArgumentNullException.ThrowIfNull(study);
        ArgumentNullException.ThrowIfNull(edit);
        return Finish(study, edit.Apply(StateOf(study)), [.. study.Edits, edit], [], edit.ChangesFeel);
    }

    public static bool CanUndo(Study study) => study.Edits.Count > 0;

    public static bool CanRedo(Study study) => study.Undone.Count > 0;

    /// <exception cref="InputException">There is nothing to undo.</exception>
    public static Study Undo(Study study)
    {
        ArgumentNullException.ThrowIfNull(study);
        if (study.Edits.Count == 0 || study.Ground is not { } ground)
            throw new InputException("There is nothing to undo.");
        StudyEdit last = study.Edits[^1];
        StudyEdit[] before = [.. study.Edits.SkipLast(1)];
        StudyEdit[] undone = [.. study.Undone, last];
        Study start = study with
        {
            Name = ground.Name,
            Performance = ground.Performance,
            Feel = ground.Feel,
            RunnerUp = ground.RunnerUp,
            Doubts = ground.Doubts,
            Corrections = ground.Corrections,
            Tags = ground.Tags,
            SwingWriting = ground.SwingWriting,
            FoldRepeats = ground.FoldRepeats,
            PlacedByHand = [],
        };
        if (!before.Any(edit => edit.ChangesFeel))
            return Finish(start, before.Aggregate(StateOf(start), (state, edit) => edit.Apply(state)), before, undone, feelChanges: false);
        Study after = Finish(start, before.Aggregate(StateOf(start), (state, edit) => edit.Apply(state)), before, undone, last.ChangesFeel);
        // What was undone touched no figure: they stand as they were.
        return last.ChangesFeel ? after : after with { Feel = study.Feel };
    }

    /// <exception cref="InputException">There is nothing to redo.</exception>
    public static Study Redo(Study study)
    {
        ArgumentNullException.ThrowIfNull(study);
        if (study.Undone.Count == 0)
            throw new InputException("There is nothing to redo.");
        StudyEdit edit = study.Undone[^1];
        return Finish(study, edit.Apply(StateOf(study)), [.. study.Edits, edit], [.. study.Undone.SkipLast(1)], edit.ChangesFeel);
    }

    private static StudyState StateOf(Study study) => new(
        study.Name, study.Tags, study.Performance, study.RunnerUp, null, study.Corrections, study.Feel.Options.Reference,
        study.SwingWriting, study.FoldRepeats, study.PlacedByHand);

    private static Study Finish(Study study, StudyState state, IReadOnlyList<StudyEdit> edits, IReadOnlyList<StudyEdit> undone, bool feelChanges)
    {
        string pulses = typeof(PulseCorrection).Namespace!;
        return study with
        {
            Name = state.Name,
            Tags = state.Tags,
            Performance = state.Performance,
            Feel = feelChanges ? FeelAnalysis.Measure(state.Performance, study.Feel.Options with { Reference = state.Reference }) : study.Feel,
            RunnerUp = state.RunnerUp,
            Doubts = state.PulseDoubts is { } found ? [.. study.Doubts.Where(doubt => doubt.GetType().Namespace != pulses), .. found] : study.Doubts,
            Corrections = state.Corrections,
            SwingWriting = state.SwingWriting,
            FoldRepeats = state.FoldRepeats,
            PlacedByHand = state.PlacedByHand,
            Edits = edits,
            Undone = undone,
            Revision = study.Revision + 1,
            Ground = study.Ground ?? GroundOf(study),
        };
    }

    private static StudyGround GroundOf(Study study) => new(study.Name, study.Performance, study.Feel, study.RunnerUp, study.Doubts, study.Corrections)
    {
        Tags = study.Tags,
        SwingWriting = study.SwingWriting,
        FoldRepeats = study.FoldRepeats,
    };
}
