using System.Text.Json.Serialization;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>A written place as plain data.</summary>
/// <param name="Within">Exact fraction of the beat: "1/4", "0".</param>
public sealed record EditPlace(int Bar, int Beat, string Within)
{
    /// <summary>A place that the pulse has carried farther off than this many beats is looked for by its time.</summary>
    private const double CarriedBeats = 0.25;

    /// <summary>Places that are looked for by their time: 24ths of a beat hold halved and doubled 16ths and triplets.</summary>
    private const int PlacesABeat = 24;

    /// <summary>
    /// When the place fell as the edit was made, seconds; null before that. A pulse that is counted anew afterwards gives
    /// the place another number, but not another time.
    /// </summary>
    public double? Time { get; init; }

    public static EditPlace Of(BarPosition place) => new(place.Bar, place.Beat, place.Within.ToString());

    /// <exception cref="InputException">No such place.</exception>
    public BarPosition ToPosition(Pulse pulse)
    {
        ArgumentNullException.ThrowIfNull(pulse);
        Meter meter = pulse.MeterAt(Bar);
        BarPosition? named = Named(meter);
        if (Time is not { } time)
            return named ?? throw new InputException($"Beat {Beat} + {Within} is not a place in a bar of {meter}.");
        double beats = pulse.BeatsAt(AudioTime.FromSeconds(time));
        return named is { } place && Math.Abs(pulse.BeatsFromFirst(place).ToDouble() - beats) <= CarriedBeats
            ? place
            : pulse.PositionAt(Fraction.Nearest(beats, PlacesABeat));
    }

    /// <summary>The same place with the time it has on this pulse.</summary>
    internal EditPlace Timed(Pulse pulse) => Time is null ? this with { Time = pulse.TimeAt(ToPosition(pulse)).TotalSeconds } : this;

    private BarPosition? Named(Meter meter)
    {
        try
        {
            Fraction within = Fraction.Parse(Within);
            return Beat >= 1 && Beat <= meter.BeatsPerBar && within >= 0 && within < 1 ? new BarPosition(Bar, Beat, within) : null;
        }
        catch (FormatException)
        {
            return null;
        }
    }
}

/// <summary>
/// Which stroke is meant: of this piece, nearest to this time. A time and not an index, so that the edit still finds
/// its stroke after the recording has been listened to again.
/// </summary>
/// <param name="Piece">Id of the kit piece.</param>
/// <param name="Time">Seconds from the recording's start.</param>
public sealed record StrokeRef(string Piece, double Time);

/// <summary>
/// One change by hand: plain data that is stored with a study and done again whenever the study is made anew.
/// </summary>
[JsonPolymorphic(TypeDiscriminatorPropertyName = "edit")]
[JsonDerivedType(typeof(AddStroke), "add")]
[JsonDerivedType(typeof(DeleteStroke), "delete")]
[JsonDerivedType(typeof(MoveStroke), "move")]
[JsonDerivedType(typeof(RepieceStroke), "repiece")]
[JsonDerivedType(typeof(MarkStroke), "mark")]
[JsonDerivedType(typeof(ChangeMeter), "meter")]
[JsonDerivedType(typeof(JoinBars), "join")]
[JsonDerivedType(typeof(SplitBar), "split")]
[JsonDerivedType(typeof(PlacePiece), "line")]
[JsonDerivedType(typeof(ShiftBarLines), "bar-lines")]
[JsonDerivedType(typeof(Resubdivide), "subdivision")]
[JsonDerivedType(typeof(WriteSwing), "swing")]
[JsonDerivedType(typeof(WriteRepeats), "repeats")]
[JsonDerivedType(typeof(TypeBar), "bar")]
[JsonDerivedType(typeof(ShiftStroke), "shift")]
[JsonDerivedType(typeof(HearStroke), "hear")]
[JsonDerivedType(typeof(ConfirmStroke), "confirm")]
public abstract record ChartEdit
{
    /// <exception cref="InputException">The stroke is not there, or the change makes no sense on this chart.</exception>
    internal abstract ChartState Apply(ChartState state);

    /// <summary>The edit as it is kept: with the times that its places have now.</summary>
    internal virtual ChartEdit Timed(ChartState state) => this;
}

/// <summary>What is edited: the strokes with their pulse, and how they are written.</summary>
public sealed record ChartState(Performance Performance, ChartOptions Options);

/// <summary>A stroke that the listening missed; it is taken to lie exactly on its written place.</summary>
public sealed record AddStroke(string Piece, EditPlace At, int Velocity) : ChartEdit
{
    internal override ChartState Apply(ChartState state)
    {
        if (Velocity is < 1 or > 127)
            throw new InputException($"A velocity is 1 to 127, not {Velocity}.");
        return StrokeEdits.Add(state, [new TypedStroke(StrokeEdits.PieceOf(Piece), At.ToPosition(state.Performance.Pulse), Velocity, HitMarks.None)]);
    }

    internal override ChartEdit Timed(ChartState state) => this with { At = At.Timed(state.Performance.Pulse) };
}

public sealed record DeleteStroke(StrokeRef Stroke) : ChartEdit
{
    internal override ChartState Apply(ChartState state) => StrokeEdits.Replace(state, Stroke, _ => null);
}

/// <summary>Writes a stroke at another place; when it was struck does not change, so its deviation does.</summary>
public sealed record MoveStroke(StrokeRef Stroke, EditPlace To) : ChartEdit
{
    internal override ChartState Apply(ChartState state)
    {
        BarPosition to = To.ToPosition(state.Performance.Pulse);
        return StrokeEdits.Replace(state, Stroke, hit => hit with { Position = to, Confidence = 1 });
    }

    internal override ChartEdit Timed(ChartState state) => this with { To = To.Timed(state.Performance.Pulse) };
}

public sealed record RepieceStroke(StrokeRef Stroke, string Piece) : ChartEdit
{
    internal override ChartState Apply(ChartState state)
    {
        KitPiece piece = StrokeEdits.PieceOf(Piece);
        return StrokeEdits.Replace(state, Stroke, hit => hit with { Piece = piece, Confidence = 1, Ring = piece.Family() == PieceFamily.Hat ? hit.Ring : null });
    }
}

/// <param name="Mark">A word of <see cref="HitMarkWords"/>: ghost, accent, flam, ... right, left.</param>
/// <param name="On">Set or clear it.</param>
public sealed record MarkStroke(StrokeRef Stroke, string Mark, bool On) : ChartEdit
{
    internal override ChartState Apply(ChartState state)
    {
        HitMarks mark = HitMarkWords.Find(Mark);
        if (mark == HitMarks.None)
            throw new InputException($"'{Mark}' is no mark; the marks are {string.Join(", ", HitMarkWords.All.Select(each => each.Word))}.");
        return StrokeEdits.Replace(state, Stroke, hit => hit with { Marks = On ? hit.Marks | mark : hit.Marks & ~mark });
    }
}

/// <summary>Counts the same beats in another meter: all of them, or from one bar on, or within some bars.</summary>
public sealed record ChangeMeter(string Meter) : ChartEdit
{
    /// <summary>Null = the whole passage, counted from bar 1.</summary>
    public int? FirstBar { get; init; }

    /// <summary>The last bar of the old count that changes; null = to the end.</summary>
    public int? LastBar { get; init; }

    internal override ChartState Apply(ChartState state) => FirstBar is { } first
        ? BarEdits.ChangeMeter(state, PulseEdits.MeterOf(Meter), first, LastBar)
        : PulseEdits.Recount(state, PulseEdits.MeterOf(Meter), 0);
}

/// <summary>Makes one bar of several; what follows is numbered anew.</summary>
public sealed record JoinBars(int FirstBar, int LastBar) : ChartEdit
{
    internal override ChartState Apply(ChartState state) => BarEdits.Join(state, FirstBar, LastBar);
}

/// <summary>Makes two bars of one, the first as long as so many beats; what follows is numbered anew.</summary>
public sealed record SplitBar(int Bar, int AfterBeat) : ChartEdit
{
    internal override ChartState Apply(ChartState state) => BarEdits.Split(state, Bar, AfterBeat);
}

/// <summary>Writes a piece on another line or space.</summary>
/// <param name="Step">C to B, as read in the treble clef.</param>
/// <param name="Head">normal, cross, diamond, circled-cross, triangle or slashed; null keeps the piece's.</param>
public sealed record PlacePiece(string Piece, string Step, int Octave, string? Head) : ChartEdit
{
    internal override ChartState Apply(ChartState state)
    {
        KitPiece piece = StrokeEdits.PieceOf(Piece);
        Head head = state.Options.Staff.Place(piece).Head;
        if (Head is not null && !Enum.TryParse(Head.Replace("-", "", StringComparison.Ordinal), ignoreCase: true, out head))
            throw new InputException($"'{Head}' is no notehead; there are normal, cross, diamond, circled-cross, triangle and slashed.");
        return state with { Options = state.Options with { Staff = state.Options.Staff.With(piece, new StaffPlace(Step.Length == 1 ? Step[0] : '?', Octave, head)) } };
    }
}

/// <summary>Moves every bar line by whole beats, later when positive: a pickup that was taken for beat 1.</summary>
public sealed record ShiftBarLines(int Beats) : ChartEdit
{
    internal override ChartState Apply(ChartState state) => PulseEdits.Recount(state, state.Performance.Meter, Beats);
}

/// <summary>Writes the strokes of some bars at the nearest of so many even places a beat.</summary>
public sealed record Resubdivide(int FirstBar, int LastBar, int PlacesABeat) : ChartEdit
{
    internal override ChartState Apply(ChartState state) => PulseEdits.Resubdivide(state, FirstBar, LastBar, PlacesABeat);
}

public sealed record WriteSwing(SwingWriting Writing) : ChartEdit
{
    internal override ChartState Apply(ChartState state) => state with { Options = state.Options with { SwingWriting = Writing } };
}

public sealed record WriteRepeats(bool Folded) : ChartEdit
{
    /// <summary>Bars that are alike repeat too (<see cref="ChartOptions.RepeatAlike"/>).</summary>
    public bool Alike { get; init; }

    internal override ChartState Apply(ChartState state) => state with { Options = state.Options with { FoldRepeats = Folded, RepeatAlike = Alike } };
}

/// <summary>Writes a whole bar from its text (<see cref="BarText"/>); strokes that were there already keep their times.</summary>
public sealed record TypeBar(string Text) : ChartEdit
{
    /// <summary>When the bar began as it was typed, seconds; null before that. Where bar lines have moved since, the text fits no bar.</summary>
    public double? Begins { get; init; }

    internal override ChartState Apply(ChartState state) => StrokeEdits.SetBar(state, BarText.Parse(Text), Begins);

    internal override ChartEdit Timed(ChartState state) =>
        Begins is null ? this with { Begins = state.Performance.Pulse.TimeAt(new BarPosition(BarText.Parse(Text).Number, 1, Fraction.Zero)).TotalSeconds } : this;
}
