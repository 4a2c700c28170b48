namespace Hindbeat.Performances;

/// <summary>The marks of a stroke in words, as documents and typed bars spell them.</summary>
public static class HitMarkWords
{
    public static IReadOnlyList<(HitMarks Mark, string Word)> All { get; } =
    [
        (HitMarks.Ghost, "ghost"), (HitMarks.Accent, "accent"), (HitMarks.Flam, "flam"), (HitMarks.Drag, "drag"),
        (HitMarks.Rimshot, "rimshot"), (HitMarks.Buzz, "buzz"), (HitMarks.Choke, "choke"), (HitMarks.HalfOpen, "half-open"),
        (HitMarks.RightHand, "right"), (HitMarks.LeftHand, "left"),
    ];

    /// <summary>The words of a stroke's marks, in a fixed order.</summary>
    public static IEnumerable<string> Of(HitMarks marks) => All.Where(row => marks.HasFlag(row.Mark)).Select(row => row.Word);

    /// <returns><see cref="HitMarks.None"/> when the word is no mark.</returns>
    public static HitMarks Find(string word) => All.FirstOrDefault(row => row.Word == word).Mark;
}
