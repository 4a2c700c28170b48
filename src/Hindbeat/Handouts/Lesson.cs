using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;

namespace Hindbeat.Handouts;

/// <summary>What a lesson may hold, in the order of the page.</summary>
[Flags]
public enum LessonSections
{
    None = 0,

    /// <summary>The teacher's own text.</summary>
    Words = 1,
    Chart = 2,
    PlayedOverWritten = 4,

    /// <summary>The versions to listen to.</summary>
    Listening = 8,

    /// <summary>The figures in plain words and in a table.</summary>
    Figures = 16,
    FoldedBar = 32,

    /// <summary>Tempi to practise at.</summary>
    Ladder = 64,
    All = Words | Chart | PlayedOverWritten | Listening | Figures | FoldedBar | Ladder,
}

/// <summary>Everything a handout is made of. Plain data; nothing in it is looked up elsewhere.</summary>
/// <param name="Title">As it stands at the top.</param>
/// <param name="Kit">What the versions are played on.</param>
public sealed record Lesson(string Title, Performance Performance, FeelReport Feel, Kit Kit)
{
    /// <summary>Who teaches; empty = not said.</summary>
    public string Teacher { get; init; } = "";

    /// <summary>Whose playing it is, and where it was recorded; typed in by the teacher. Empty = not said.</summary>
    public string Credits { get; init; } = "";

    /// <summary>Whose drum sounds these are, as a sentence of its own; empty = nobody is to be named.</summary>
    internal string KitCredit => Kit.Attribution.Length == 0 || Kit.Attribution.StartsWith("Drum sounds", StringComparison.Ordinal) ? Kit.Attribution : "Drum sounds: " + Kit.Attribution;

    /// <summary>The teacher's own words, in Markdown (CommonMark); HTML in it is shown as text.</summary>
    public string Words { get; init; } = "";

    public LessonSections Sections { get; init; } = LessonSections.All;

    /// <summary>The versions to listen to: what changes from one to the next is named, and nothing else changes.</summary>
    public IReadOnlyList<LessonPart> Versions { get; init; } = LessonSet.Usual;
}
