using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>
/// The edits of a chart, undone and redone without limit. Immutable states are kept, so undoing is exact. Not for
/// several threads at once.
/// </summary>
public sealed class EditHistory(ChartState start)
{
    private readonly List<(ChartEdit Edit, ChartState After)> _done = [];
    private readonly Stack<(ChartEdit Edit, ChartState After)> _undone = [];

    /// <summary>With every edit done.</summary>
    public ChartState Current => _done.Count == 0 ? start : _done[^1].After;

    public IReadOnlyList<ChartEdit> Edits => [.. _done.Select(step => step.Edit)];

    public bool CanUndo => _done.Count > 0;
    public bool CanRedo => _undone.Count > 0;

    /// <summary>Does one edit; what was undone can then no longer be redone.</summary>
    /// <exception cref="InputException">It cannot be done; nothing has changed.</exception>
    public void Do(ChartEdit edit)
    {
        ArgumentNullException.ThrowIfNull(edit);
        ChartState after = edit.Apply(Current);
        _done.Add((edit.Timed(Current), after));
        _undone.Clear();
    }

    public void Undo()
    {
        if (!CanUndo)
            throw new InputException("There is nothing to undo.");
        _undone.Push(_done[^1]);
        _done.RemoveAt(_done.Count - 1);
    }

    public void Redo()
    {
        if (!CanRedo)
            throw new InputException("There is nothing to redo.");
        _done.Add(_undone.Pop());
    }

    /// <summary>
    /// Does stored edits again on a chart that was made anew. An edit whose stroke is no longer there is left out and
    /// given back with the reason.
    /// </summary>
    public static (EditHistory History, IReadOnlyList<(ChartEdit Edit, string Reason)> LeftOut) Replay(ChartState start, IEnumerable<ChartEdit> edits)
    {
        ArgumentNullException.ThrowIfNull(edits);
        var history = new EditHistory(start);
        var leftOut = new List<(ChartEdit, string)>();
        foreach (ChartEdit edit in edits)
        {
            try
            {
                history.Do(edit);
            }
            catch (InputException reason)
            {
                leftOut.Add((edit, reason.Message));
            }
        }

        return (history, leftOut);
    }
}
