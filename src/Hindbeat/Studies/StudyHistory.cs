using Hindbeat.Units;

namespace Hindbeat.Studies;

/// <summary>
/// Changes a study by hand, in any part of it, and takes changes back: a change in, the new study out, with everything made anew
/// that depends on it (written places, figures, doubts). Nothing is listened to again. Undoing makes the changes before the last
/// again from the study as it was made, so it is exact; studies are immutable, so a change that cannot be made leaves nothing half done.
/// </summary>
public static class StudyHistory
{
    public static bool CanUndo(Study study) => study is { Changes.Count: > 0, Unchanged: not null };

    public static bool CanRedo(Study study) => study is { UndoneChanges.Count: > 0 };

    /// <summary>Makes one change; what was undone can then no longer be done again.</summary>
    /// <exception cref="InputException">It cannot be made; the message says why.</exception>
    public static Study Do(Study study, StudyChange change)
    {
        ArgumentNullException.ThrowIfNull(study);
        ArgumentNullException.ThrowIfNull(change);
        return Kept(change.Apply(study), study, [.. study.Changes, change], []);
    }

    /// <exception cref="InputException">There is nothing to undo.</exception>
    public static Study Undo(Study study)
    {
        ArgumentNullException.ThrowIfNull(study);
        if (!CanUndo(study))
            throw new InputException("There is nothing to undo.");
        StudyChange last = study.Changes[^1];
        StudyChange[] before = [.. study.Changes.SkipLast(1)];
        return Kept(Without(study, last, before), study, before, [.. study.UndoneChanges, last]);
    }

    /// <exception cref="InputException">There is nothing to redo.</exception>
    public static Study Redo(Study study)
    {
        ArgumentNullException.ThrowIfNull(study);
        if (!CanRedo(study))
            throw new InputException("There is nothing to redo.");
        StudyChange change = study.UndoneChanges[^1];
        return Kept(change.Apply(study), study, [.. study.Changes, change], [.. study.UndoneChanges.SkipLast(1)]);
    }

    private static Study Without(Study study, StudyChange last, StudyChange[] before)
    {
        Study start = study.Unchanged!;
        if (!last.ChangesFigures)
        {
            // Measuring takes longer than all else together, and there is nothing to measure.
            return last switch
            {
                Renamed => study with { Name = before.OfType<Renamed>().LastOrDefault() is { } earlier ? earlier.Apply(study).Name : start.Name },
                Tagged => study with { Tags = before.OfType<Tagged>().LastOrDefault() is { } earlier ? earlier.Apply(study).Tags : start.Tags },
                _ => StudyEditor.Undo(study),
            };
        }

        if (!before.Any(change => change.ChangesFigures))
            return before.Aggregate(start, (state, change) => change.Apply(state));
        // Edits that follow each other are measured once, at their end.
        Study state = start;
        for (int i = 0; i < before.Length;)
        {
            int edits = before.Skip(i).TakeWhile(change => change is ChartEdited).Count();
            state = edits > 0 ? StudyEditor.Do(state, [.. before.Skip(i).Take(edits).Select(change => ((ChartEdited)change).Edit)]) : before[i].Apply(state);
            i += Math.Max(1, edits);
        }

        return state;
    }

    private static Study Kept(Study changed, Study earlier, StudyChange[] changes, IReadOnlyList<StudyChange> undone) => changed with
    {
        Changes = changes,
        UndoneChanges = undone,
        // One list of what can be done again is enough.
        UndoneEdits = [.. undone.OfType<ChartEdited>().Select(change => change.Edit).Reverse()],
        Unchanged = changes.Length == 0 ? null : earlier.Unchanged ?? earlier with { UndoneChanges = [], UndoneEdits = [], Revision = 0 },
        Revision = earlier.Revision + 1,
    };
}
