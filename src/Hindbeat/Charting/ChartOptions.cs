namespace Hindbeat.Charting;

/// <summary>How a swung passage is put on paper.</summary>
public enum SwingWriting
{
    /// <summary>Straight, with a direction such as "swung 16ths (1.62 : 1)".</summary>
    Straight,

    /// <summary>At the places the pulse gave, without a direction: triplets stay triplets.</summary>
    AsPlaced,
}

/// <summary>What a person may choose about a chart.</summary>
public sealed record ChartOptions
{
    /// <summary>Printed large at the top; the study's name as a rule.</summary>
    public string Title { get; init; } = "Untitled passage";

    /// <summary>A line under the title, or null.</summary>
    public string? Subtitle { get; init; }

    public SwingWriting SwingWriting { get; init; } = SwingWriting.Straight;

    /// <summary>Print the measured figures at the foot of the page.</summary>
    public bool ShowFigures { get; init; } = true;
}
