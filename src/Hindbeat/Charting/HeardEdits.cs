using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>A stroke was struck at another moment than was heard; it is written anew where it now fits.</summary>
/// <param name="To">Seconds from the recording's start.</param>
public sealed record ShiftStroke(StrokeRef Stroke, double To) : ChartEdit
{
    internal override ChartState Apply(ChartState state)
    {
        HeardEdits.CheckMoment(To);
        Hit? moved = null;
        ChartState after = StrokeEdits.Replace(state, Stroke, hit => moved = hit with { Time = AudioTime.FromSeconds(To), Confidence = 1 });
        return HeardEdits.WriteOne(after, moved!);
    }
}

/// <summary>A stroke that the listening missed, at a moment of the recording; it is written where it fits.</summary>
/// <param name="Time">Seconds from the recording's start.</param>
/// <param name="Velocity">1 to 127; null = as the piece is usually struck here.</param>
public sealed record HearStroke(string Piece, double Time, int? Velocity = null) : ChartEdit
{
    internal override ChartState Apply(ChartState state)
    {
        HeardEdits.CheckMoment(Time);
        if (Velocity is < 1 or > 127)
            throw new InputException($"A velocity is 1 to 127, not {Velocity}.");
        KitPiece struck = StrokeEdits.PieceOf(Piece);
        Hit[] alike = [.. state.Performance.Hits.Where(hit => hit.Piece == struck).OrderBy(hit => hit.Velocity)];
        Hit? usual = alike.Length == 0 ? null : alike[alike.Length / 2];
        int strength = Velocity ?? usual?.Velocity ?? BarText.UnsaidVelocity;
        Level level = usual is not null && Velocity is null ? usual.Level : KitMidiFile.LevelOf(strength);
        var added = new Hit(AudioTime.FromSeconds(Time), struck, strength, level, 1);
        return HeardEdits.WriteOne(StrokeEdits.With(state, state.Performance.Hits.Append(added)), added);
    }
}

/// <summary>A stroke was looked at and is right as it was heard.</summary>
public sealed record ConfirmStroke(StrokeRef Stroke) : ChartEdit
{
    internal override ChartState Apply(ChartState state) => StrokeEdits.Replace(state, Stroke, hit => hit with { Confidence = 1 });
}

/// <summary>How edits of what was heard, not of what is written, change strokes.</summary>
internal static class HeardEdits
{
    public static void CheckMoment(double seconds)
    {
        if (!double.IsFinite(seconds) || seconds < 0)
            throw new InputException(FormattableString.Invariant($"A stroke cannot lie at {seconds} s; moments are seconds from the recording's start."));
    }

    /// <summary>One stroke written where it fits; the others stay as they are written.</summary>
    public static ChartState WriteOne(ChartState state, Hit stroke)
    {
        Hit written = PulseFinder.PlaceOn(state.Performance.Pulse, state.Performance.Hits).Performance.Hits.First(hit => hit.Piece == stroke.Piece && hit.Time == stroke.Time);
        return StrokeEdits.With(state, state.Performance.Hits.Select(hit => ReferenceEquals(hit, stroke) ? hit with { Position = written.Position } : hit));
    }
}
