using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>How edits change strokes.</summary>
internal static class StrokeEdits
{
    /// <summary>A re-listening moves an onset by a few milliseconds; two strokes of one piece are seldom nearer than this.</summary>
    private const double NearSeconds = 0.06;

    /// <summary>A bar line that a new pulse has moved farther is another bar line.</summary>
    private const double NearBeats = 0.25;

    public static KitPiece PieceOf(string id) => KitPieces.TryParse(id, out KitPiece piece)
        ? piece
        : throw new InputException($"'{id}' is not a piece of the kit; the pieces are {string.Join(", ", KitPieces.All.Select(each => each.Id()))}.");

    public static ChartState Replace(ChartState state, StrokeRef stroke, Func<Hit, Hit?> change)
    {
        KitPiece piece = PieceOf(stroke.Piece);
        Hit found = state.Performance.Hits.Where(hit => hit.Piece == piece).MinBy(hit => Math.Abs(hit.Time.TotalSeconds - stroke.Time)) is { } hit
            && Math.Abs(hit.Time.TotalSeconds - stroke.Time) <= NearSeconds
            ? hit
            : throw new InputException(FormattableString.Invariant($"There is no {piece.Name()} stroke at {stroke.Time:0.000} s."));
        IEnumerable<Hit> others = state.Performance.Hits.Where(each => !ReferenceEquals(each, found));
        return With(state, change(found) is { } changed ? others.Append(changed) : others);
    }

    public static ChartState Add(ChartState state, IEnumerable<TypedStroke> strokes) =>
        With(state, [.. state.Performance.Hits, .. strokes.Select(stroke => ToHit(state.Performance.Pulse, stroke))]);

    /// <param name="begins">When the bar began as it was typed; the bar that begins there now is meant.</param>
    public static ChartState SetBar(ChartState state, TypedBar bar, double? begins)
    {
        if (begins is { } seconds)
            bar = BeginningAt(state.Performance.Pulse, bar, seconds);
        Meter meter = state.Performance.Pulse.MeterAt(bar.Number);
        if (bar.Meter != meter)
            throw new InputException($"The bar is typed in {bar.Meter}, but bar {bar.Number} of the chart is in {meter}; change its meter first.");
        List<Hit> there = [.. state.Performance.Hits.Where(hit => hit.Position?.Bar == bar.Number)];
        var hits = state.Performance.Hits.Where(hit => hit.Position?.Bar != bar.Number).ToList();
        foreach (TypedStroke stroke in bar.Strokes)
        {
            int same = there.FindIndex(hit => hit.Piece == stroke.Piece && hit.Position == stroke.Position);
            if (same < 0)
            {
                hits.Add(ToHit(state.Performance.Pulse, stroke));
                continue;
            }

            hits.Add(there[same] with { Velocity = stroke.Velocity, Marks = stroke.Marks, Confidence = 1 });
            there.RemoveAt(same);
        }

        return With(state, hits);
    }

    /// <summary>The same strokes in the bar that begins nearest to a moment.</summary>
    private static TypedBar BeginningAt(Pulse pulse, TypedBar bar, double seconds)
    {
        double beats = pulse.BeatsAt(AudioTime.FromSeconds(seconds));
        BarPosition line = pulse.PositionAt(Fraction.Nearest(beats, 1));
        if (line.Beat != 1 || Math.Abs(pulse.BeatsFromFirst(line).ToDouble() - beats) > NearBeats)
            throw new InputException(FormattableString.Invariant($"Bar {bar.Number} was typed from {seconds:0.000} s on, where no bar begins any more."));
        return bar with
        {
            Number = line.Bar,
            Strokes = [.. bar.Strokes.Select(stroke => stroke with { Position = new BarPosition(line.Bar, stroke.Position.Beat, stroke.Position.Within) })],
        };
    }

    internal static ChartState With(ChartState state, IEnumerable<Hit> hits) =>
        state with { Performance = new Performance(state.Performance.Pulse, hits) };

    private static Hit ToHit(Pulse pulse, TypedStroke stroke) =>
        new(pulse.TimeAt(stroke.Position), stroke.Piece, stroke.Velocity, KitMidiFile.LevelOf(stroke.Velocity), 1) { Position = stroke.Position, Marks = stroke.Marks };
}
