namespace Hindbeat.Charting;

/// <summary>How a swung passage is put on paper.</summary>
public enum SwingWriting
{
    /// <summary>Straight, with a direction such as "swung 16ths (1.62 : 1)".</summary>
    Straight,

    /// <summary>At the places the pulse gave, without a direction: triplets stay triplets.</summary>
    AsPlaced,

    /// <summary>The short note of a swung pair on the last quarter of the pair, without a direction: dotted eighth and 16th.</summary>
    Dotted,

    /// <summary>The short note of a swung pair on the last third of the pair, without a direction.</summary>
    Triplet,
}

/// <summary>What a person may choose about a chart.</summary>
public sealed record ChartOptions
{
    /// <summary>Printed large at the top; the study's name as a rule.</summary>
    public string Title { get; init; } = "Untitled passage";

    /// <summary>A line under the title, or null.</summary>
    public string? Subtitle { get; init; }

    public SwingWriting SwingWriting { get; init; } = SwingWriting.Straight;

    /// <summary>Hands and feet in one voice, all stems up; else hands up and feet down.</summary>
    public bool OneVoice { get; init; }

    /// <summary>Write bars that repeat only once, between repeat signs. Strokes of the bars left out are then not on the page.</summary>
    public bool FoldRepeats { get; init; }

    /// <summary>
    /// With <see cref="FoldRepeats"/>: bars also repeat when they differ only in ghost strokes and soft strokes, accents or how far the
    /// hats are open; a stroke that is not in all of them then says in how many it is. Fills and other variations stay bars of their own.
    /// </summary>
    public bool RepeatAlike { get; init; }

    /// <summary>One beam for the four plain eighths of half a 4/4 bar; else a beam a beat.</summary>
    public bool EighthsInFours { get; init; }

    /// <summary>Print the counts ("1 e &amp; a") under the staff.</summary>
    public bool ShowCounts { get; init; }

    /// <summary>Which hand plays a stroke, by the index of its hit; printed under the staff.</summary>
    public IReadOnlyDictionary<int, Sticking>? Stickings { get; init; }

    /// <summary>Lines and noteheads of the pieces.</summary>
    public StaffMap Staff { get; init; } = StaffMap.Guidelines;

    /// <summary>Print the measured figures at the foot of the page.</summary>
    public bool ShowFigures { get; init; } = true;
}

/// <summary>The hand of a stroke.</summary>
public enum Sticking
{
    Right,
    Left,
    Both,
}
