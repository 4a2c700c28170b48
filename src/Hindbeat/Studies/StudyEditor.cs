using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Studies;

/// <summary>Edits of an older listening that found nothing to change in a newer one.</summary>
public sealed record EditsLeftOut(IReadOnlyList<string> Reasons) : Doubt
{
    public override string Text => Reasons.Count == 1
        ? $"One edit could not be done again: {Reasons[0]}"
        : $"{Reasons.Count} edits could not be done again: {string.Join(" ", Reasons)}";
}

/// <summary>
/// Changes a study's chart by hand. Every edit is a command kept in the study, so that it can be taken back at any later
/// time and done again after a new listening. A study is immutable: each call gives a new one whose figures are measured
/// anew, and which the caller saves.
/// </summary>
/// <remarks>
/// Undoing does all edits but the last again from <see cref="Study.Unedited"/>: a hand makes tens of edits, each takes
/// microseconds, and no second record of the strokes can fall out of step.
/// </remarks>
public static class StudyEditor
{
    public static bool CanUndo(Study study) => study is { Edits.Count: > 0 };

    public static bool CanRedo(Study study) => study is { UndoneEdits.Count: > 0 };

    /// <summary>Does edits in order: all or none. What was taken back can then no longer be done again.</summary>
    /// <exception cref="InputException">One of them cannot be done.</exception>
    public static Study Do(Study study, params IReadOnlyList<ChartEdit> edits)
    {
        ArgumentNullException.ThrowIfNull(study);
        ArgumentNullException.ThrowIfNull(edits);
        EditHistory history = HistoryOf(study);
        foreach (ChartEdit edit in edits)
            history.Do(edit);
        return With(study, history.Current, history.Edits) with { UndoneEdits = edits.Count == 0 ? study.UndoneEdits : [] };
    }

    /// <summary>Takes the last edit back.</summary>
    /// <exception cref="InputException">There is none.</exception>
    public static Study Undo(Study study)
    {
        ArgumentNullException.ThrowIfNull(study);
        EditHistory history = HistoryOf(study);
        history.Undo();
        return With(study, history.Current, history.Edits) with { UndoneEdits = [study.Edits[^1], .. study.UndoneEdits] };
    }

    /// <summary>Does the edit again that was taken back last.</summary>
    /// <exception cref="InputException">There is none.</exception>
    public static Study Redo(Study study)
    {
        ArgumentNullException.ThrowIfNull(study);
        if (!CanRedo(study))
            throw new InputException("There is nothing to redo.");
        return Do(study, study.UndoneEdits[0]) with { UndoneEdits = [.. study.UndoneEdits.Skip(1)] };
    }

    /// <summary>
    /// The edits of an older study done again on one that was made anew. Those whose stroke or bar is no longer there are left
    /// out and named in a doubt.
    /// </summary>
    public static Study Replay(Study fresh, IReadOnlyList<ChartEdit> edits)
    {
        ArgumentNullException.ThrowIfNull(fresh);
        ArgumentNullException.ThrowIfNull(edits);
        if (edits.Count == 0)
            return fresh;
        (EditHistory history, IReadOnlyList<(ChartEdit Edit, string Reason)> leftOut) = EditHistory.Replay(StartOf(fresh), edits);
        Study edited = With(fresh, history.Current, history.Edits);
        return leftOut.Count == 0 ? edited : edited with { Doubts = [.. edited.Doubts, new EditsLeftOut([.. leftOut.Select(pair => pair.Reason)])] };
    }

    /// <summary>The study without its edits and what was said of them.</summary>
    public static Study WithoutEdits(Study study)
    {
        ArgumentNullException.ThrowIfNull(study);
        Study plain = study.Unedited is null ? study : With(study, StartOf(study), []);
        return plain with { UndoneEdits = [], Doubts = [.. study.Doubts.Where(doubt => doubt is not EditsLeftOut)] };
    }

    /// <summary>How the study's chart is written: what a person asks for, and over it what the edits say.</summary>
    public static ChartOptions Writing(Study study, ChartOptions asked)
    {
        ArgumentNullException.ThrowIfNull(study);
        return HistoryOf(study, asked).Current.Options;
    }

    /// <summary>The figures as they were asked for before; a report against a track whose strokes were not kept becomes the kit's own.</summary>
    internal static FeelReport Measure(Performance performance, FeelOptions asked, KeptTrack? against) => FeelAnalysis.Measure(
        performance, asked.Reference == FeelReference.SecondTrack ? asked with { Reference = null } : asked, secondTrack: against?.PlacedOn(performance.Pulse));

    private static ChartState StartOf(Study study, ChartOptions? asked = null) => new(study.Unedited ?? study.Performance, asked ?? new ChartOptions());

    private static EditHistory HistoryOf(Study study, ChartOptions? asked = null)
    {
        var history = new EditHistory(StartOf(study, asked));
        foreach (ChartEdit edit in study.Edits)
            history.Do(edit);
        return history;
    }

    private static Study With(Study study, ChartState state, IReadOnlyList<ChartEdit> edits)
    {
        bool same = ReferenceEquals(state.Performance, study.Performance);
        return study with
        {
            Performance = state.Performance,
            Unedited = edits.Count == 0 ? null : study.Unedited ?? study.Performance,
            Feel = same ? study.Feel : Measure(state.Performance, study.Feel.Options, study.Against),
            Edits = edits,
        };
    }
}
