using Hindbeat.Charting;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Units;

namespace Hindbeat.Studies;

/// <summary>How an edit of strokes or of the writing changes a study.</summary>
internal static class StrokeChanges
{
    public static StudyState Write(StudyState state, ChartEdit edit)
    {
        ChartState after = edit.Apply(ChartOf(state));
        return state with
        {
            Performance = after.Performance,
            SwingWriting = after.Options.SwingWriting,
            FoldRepeats = after.Options.FoldRepeats,
            PlacedByHand = PlacedAfter(state, edit),
        };
    }

    public static StudyState Shift(StudyState state, StrokeRef stroke, double to)
    {
        CheckMoment(to);
        Hit? moved = null;
        ChartState after = StrokeEdits.Replace(ChartOf(state), stroke, hit => moved = hit with { Time = AudioTime.FromSeconds(to), Confidence = 1 });
        return state with
        {
            Performance = WriteOne(after.Performance, moved!),
            PlacedByHand = [.. state.PlacedByHand.Where(placed => placed != stroke)],
        };
    }

    public static StudyState Add(StudyState state, string piece, double time, int? velocity)
    {
        CheckMoment(time);
        if (velocity is < 1 or > 127)
            throw new InputException($"A velocity is 1 to 127, not {velocity}.");
        KitPiece struck = StrokeEdits.PieceOf(piece);
        Hit[] alike = [.. state.Performance.Hits.Where(hit => hit.Piece == struck).OrderBy(hit => hit.Velocity)];
        Hit? usual = alike.Length == 0 ? null : alike[alike.Length / 2];
        int strength = velocity ?? usual?.Velocity ?? BarText.UnsaidVelocity;
        Level level = usual is not null && velocity is null ? usual.Level : KitMidiFile.LevelOf(strength);
        var added = new Hit(AudioTime.FromSeconds(time), struck, strength, level, 1);
        return state with { Performance = WriteOne(new Performance(state.Performance.Pulse, state.Performance.Hits.Append(added)), added) };
    }

    public static ChartState ChartOf(StudyState state) =>
        new(state.Performance, new ChartOptions { SwingWriting = state.SwingWriting, FoldRepeats = state.FoldRepeats });

    /// <summary>One stroke written where it fits; the others stay as they are written.</summary>
    private static Performance WriteOne(Performance performance, Hit stroke)
    {
        Hit written = PulseFinder.PlaceOn(performance.Pulse, performance.Hits).Performance.Hits.First(hit => hit.Piece == stroke.Piece && hit.Time == stroke.Time);
        return new Performance(performance.Pulse, performance.Hits.Select(hit => ReferenceEquals(hit, stroke) ? hit with { Position = written.Position } : hit));
    }

    private static IReadOnlyList<StrokeRef> PlacedAfter(StudyState state, ChartEdit edit)
    {
        switch (edit)
        {
            case MoveStroke move:
                return [.. state.PlacedByHand.Where(placed => placed != move.Stroke), Exact(state, move.Stroke)];
            case DeleteStroke delete:
                return [.. state.PlacedByHand.Where(placed => placed != Exact(state, delete.Stroke))];
            case RepieceStroke turned:
                StrokeRef before = Exact(state, turned.Stroke);
                return [.. state.PlacedByHand.Select(placed => placed == before ? placed with { Piece = turned.Piece } : placed)];
            case ChangeMeter or ShiftBarLines:
                // Every stroke stays on its beat, so what was chosen stays chosen.
                return state.PlacedByHand;
            default:
                return state.PlacedByHand;
        }
    }

    /// <summary>The reference with the stroke's own time, not one near it.</summary>
    private static StrokeRef Exact(StudyState state, StrokeRef stroke) =>
        state.Performance.Hits.Where(hit => hit.Piece.Id() == stroke.Piece).MinBy(hit => Math.Abs(hit.Time.TotalSeconds - stroke.Time)) is { } hit
            ? stroke with { Time = hit.Time.TotalSeconds }
            : stroke;

    private static void CheckMoment(double seconds)
    {
        if (!double.IsFinite(seconds) || seconds < 0)
            throw new InputException(FormattableString.Invariant($"A stroke cannot lie at {seconds} s; moments are seconds from the recording's start."));
    }
}
