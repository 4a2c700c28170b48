using System.Text.Json.Serialization;
using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Units;

namespace Hindbeat.Studies;

/// <summary>
/// One change that a person makes to a study, whatever page it is made on: plain data, kept in the study in order, so that
/// every change can be undone and two people at work on one study change the same list.
/// </summary>
[JsonPolymorphic(TypeDiscriminatorPropertyName = "change")]
[JsonDerivedType(typeof(PulseCorrected), "pulse")]
[JsonDerivedType(typeof(PulseTapped), "tapped")]
[JsonDerivedType(typeof(ChartEdited), "chart")]
[JsonDerivedType(typeof(StrokeShifted), "shift")]
[JsonDerivedType(typeof(StrokeAdded), "add")]
[JsonDerivedType(typeof(StrokeConfirmed), "confirm")]
[JsonDerivedType(typeof(ReferenceChosen), "reference")]
[JsonDerivedType(typeof(Renamed), "rename")]
[JsonDerivedType(typeof(Tagged), "tags")]
public abstract record StudyEdit
{
    /// <summary>For "Undo …" and "Redo …": what was done, without a full stop.</summary>
    [JsonIgnore]
    public abstract string Words { get; }

    /// <summary>False when the figures stay as they were.</summary>
    [JsonIgnore]
    internal virtual bool ChangesFeel => true;

    /// <exception cref="InputException">It cannot be done on this study; the message says why.</exception>
    internal abstract StudyState Apply(StudyState state);
}

/// <summary>What edits change.</summary>
/// <param name="PulseDoubts">Null while the pulse is as it was found.</param>
internal sealed record StudyState(
    string Name, IReadOnlyList<string> Tags, Performance Performance, string? RunnerUp, IReadOnlyList<Doubt>? PulseDoubts,
    IReadOnlyList<PulseCorrection> Corrections, FeelReference? Reference, SwingWriting SwingWriting, bool FoldRepeats, IReadOnlyList<StrokeRef> PlacedByHand);

/// <summary>The pulse is corrected, all at once.</summary>
public sealed record PulseCorrected(IReadOnlyList<PulseCorrection> Corrections) : StudyEdit
{
    public override string Words => "pulse: " + string.Join(", ", Corrections.Select(PulseCorrections.Words));

    internal override StudyState Apply(StudyState state) => PulseChanges.Correct(state, Corrections);
}

/// <summary>Someone has tapped along, from a beat 1 on.</summary>
/// <param name="Taps">Seconds of the recording, rising.</param>
public sealed record PulseTapped(IReadOnlyList<double> Taps) : StudyEdit
{
    public override string Words => "pulse: tapped";

    internal override StudyState Apply(StudyState state) => PulseChanges.Tapped(state, Taps);
}

/// <summary>What is written is changed by hand.</summary>
public sealed record ChartEdited(ChartEdit Edit) : StudyEdit
{
    public override string Words => Edit switch
    {
        AddStroke add => $"chart: {Named(add.Piece)} added",
        DeleteStroke delete => $"{Named(delete.Stroke.Piece)} deleted",
        MoveStroke move => $"chart: {Named(move.Stroke.Piece)} written elsewhere",
        RepieceStroke turned => $"{Named(turned.Stroke.Piece)} made {Named(turned.Piece)}",
        MarkStroke mark => $"{mark.Mark} {(mark.On ? "set" : "taken away")}",
        TypeBar => "chart: bar typed",
        WriteSwing => "chart: how swing is written",
        WriteRepeats => "chart: repeats",
        Resubdivide => "chart: subdivision",
        _ => "chart: bar lines",
    };

    internal override bool ChangesFeel => Edit is not (WriteSwing or WriteRepeats);

    internal override StudyState Apply(StudyState state) => StrokeChanges.Write(state, Edit);

    private static string Named(string id) => KitPieces.TryParse(id, out KitPiece piece) ? piece.Name() : id;
}

/// <summary>A stroke was struck at another moment than was heard; it is written anew where it now fits.</summary>
/// <param name="To">Seconds from the recording's start.</param>
public sealed record StrokeShifted(StrokeRef Stroke, double To) : StudyEdit
{
    public override string Words => $"{StrokeEdits.PieceOf(Stroke.Piece).Name()} moved in time";

    internal override StudyState Apply(StudyState state) => StrokeChanges.Shift(state, Stroke, To);
}

/// <summary>A stroke that the listening missed, at a moment of the recording; it is written where it fits.</summary>
/// <param name="Time">Seconds from the recording's start.</param>
/// <param name="Velocity">1 to 127; null = as the piece is usually struck here.</param>
public sealed record StrokeAdded(string Piece, double Time, int? Velocity = null) : StudyEdit
{
    public override string Words => $"{StrokeEdits.PieceOf(Piece).Name()} added";

    internal override StudyState Apply(StudyState state) => StrokeChanges.Add(state, Piece, Time, Velocity);
}

/// <summary>A stroke was looked at and is right as it was heard.</summary>
public sealed record StrokeConfirmed(StrokeRef Stroke) : StudyEdit
{
    public override string Words => $"{StrokeEdits.PieceOf(Stroke.Piece).Name()} confirmed";

    internal override bool ChangesFeel => false;

    internal override StudyState Apply(StudyState state) => state with
    {
        Performance = StrokeEdits.Replace(StrokeChanges.ChartOf(state), Stroke, hit => hit with { Confidence = 1 }).Performance,
    };
}

/// <summary>What "late" is measured against; null = the default.</summary>
public sealed record ReferenceChosen(FeelReference? Reference) : StudyEdit
{
    public override string Words => "feel: reference";

    internal override StudyState Apply(StudyState state) => state with { Reference = Reference };
}

public sealed record Renamed(string Name) : StudyEdit
{
    private const int Longest = 120;

    public override string Words => "name";

    internal override bool ChangesFeel => false;

    internal override StudyState Apply(StudyState state)
    {
        string name = Plain.OneLine(Name);
        return name.Length is > 0 and <= Longest
            ? state with { Name = name }
            : throw new InputException($"A study's name has 1 to {Longest} letters on one line.");
    }
}

public sealed record Tagged(IReadOnlyList<string> Tags) : StudyEdit
{
    private const int MostTags = 20, Longest = 40;

    public override string Words => "tags";

    internal override bool ChangesFeel => false;

    internal override StudyState Apply(StudyState state)
    {
        string[] tags = [.. Tags.Select(Plain.OneLine).Where(tag => tag.Length > 0).Distinct(StringComparer.CurrentCultureIgnoreCase)];
        if (tags.Length > MostTags || tags.Any(tag => tag.Length > Longest || tag.Contains(',', StringComparison.Ordinal)))
            throw new InputException($"A study has at most {MostTags} tags of up to {Longest} letters, without commas.");
        return state with { Tags = tags };
    }
}

/// <summary>Text that a person typed, as one line without control signs.</summary>
internal static class Plain
{
    public static string OneLine(string text) =>
        string.Join(' ', new string([.. text.Select(letter => char.IsControl(letter) ? ' ' : letter)]).Split(' ', StringSplitOptions.RemoveEmptyEntries));
}
