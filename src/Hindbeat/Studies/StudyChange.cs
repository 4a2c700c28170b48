using System.Text.Json.Serialization;
using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Pulses;
using Hindbeat.Units;

namespace Hindbeat.Studies;

/// <summary>
/// One change that a person makes to a study, whatever part of it: plain data, kept in the study in order, so that every change
/// can be undone and two people at work on one study add to the same list.
/// </summary>
[JsonPolymorphic(TypeDiscriminatorPropertyName = "change")]
[JsonDerivedType(typeof(PulseCorrected), "pulse")]
[JsonDerivedType(typeof(PulseTapped), "tapped")]
[JsonDerivedType(typeof(ChartEdited), "edit")]
[JsonDerivedType(typeof(ReferenceChosen), "reference")]
[JsonDerivedType(typeof(Renamed), "rename")]
[JsonDerivedType(typeof(Tagged), "tags")]
public abstract record StudyChange
{
    /// <summary>What was done, in a few words, for "Undo (…)".</summary>
    [JsonIgnore]
    public abstract string Words { get; }

    /// <summary>False when strokes, pulse and figures stay as they were.</summary>
    [JsonIgnore]
    internal virtual bool ChangesFigures => true;

    /// <summary>The changed study; its list of changes is not this one's business.</summary>
    /// <exception cref="InputException">It cannot be done on this study; the message says why.</exception>
    internal abstract Study Apply(Study study);
}

/// <summary>The pulse is corrected, all at once; edits of strokes are done again at their times.</summary>
public sealed record PulseCorrected(IReadOnlyList<PulseCorrection> Corrections) : StudyChange
{
    public override string Words => "pulse: " + string.Join(", ", Corrections.Select(PulseCorrections.Words));

    internal override Study Apply(Study study) => PulseChanges.Correct(study, Corrections);
}

/// <summary>Someone has tapped along, from a beat 1 on.</summary>
/// <param name="Taps">Seconds of the recording, rising.</param>
public sealed record PulseTapped(IReadOnlyList<double> Taps) : StudyChange
{
    public override string Words => "pulse: tapped";

    internal override Study Apply(Study study) => PulseChanges.Tapped(study, Taps);
}

/// <summary>A stroke or what is written is changed by hand.</summary>
public sealed record ChartEdited(ChartEdit Edit) : StudyChange
{
    public override string Words => EditWords.Brief(Edit);

    internal override bool ChangesFigures => Edit is not (WriteSwing or WriteRepeats or PlacePiece);

    internal override Study Apply(Study study) => StudyEditor.Do(study, Edit);
}

/// <summary>What "late" is measured against: something in the passage itself; null = the default. Another track is then let go.</summary>
public sealed record ReferenceChosen(FeelReference? Reference) : StudyChange
{
    public override string Words => "feel: reference";

    internal override Study Apply(Study study) =>
        study with { Against = null, Feel = StudyEditor.Measure(study.Performance, study.Feel.Options with { Reference = Reference }, null) };
}

public sealed record Renamed(string Name) : StudyChange
{
    private const int Longest = 120;

    public override string Words => "name";

    internal override bool ChangesFigures => false;

    internal override Study Apply(Study study)
    {
        string name = Plain.OneLine(Name);
        return name.Length is > 0 and <= Longest
            ? study with { Name = name }
            : throw new InputException($"A study's name has 1 to {Longest} letters on one line.");
    }
}

public sealed record Tagged(IReadOnlyList<string> Tags) : StudyChange
{
    private const int MostTags = 20, Longest = 40;

    public override string Words => "tags";

    internal override bool ChangesFigures => false;

    internal override Study Apply(Study study)
    {
        string[] tags = [.. Tags.Select(Plain.OneLine).Where(tag => tag.Length > 0).Distinct(StringComparer.CurrentCultureIgnoreCase)];
        if (tags.Length > MostTags || tags.Any(tag => tag.Length > Longest || tag.Contains(',', StringComparison.Ordinal)))
            throw new InputException($"A study has at most {MostTags} tags of up to {Longest} letters, without commas.");
        return study with { Tags = tags };
    }
}

/// <summary>Text that a person typed, as one line without control signs.</summary>
internal static class Plain
{
    public static string OneLine(string text) =>
        string.Join(' ', new string([.. text.Select(letter => char.IsControl(letter) ? ' ' : letter)]).Split(' ', StringSplitOptions.RemoveEmptyEntries));
}
