namespace Hindbeat.Charting;

/// <summary>What a page shows beyond what is written.</summary>
public sealed record EngravingLook
{
    /// <summary>
    /// Every notehead where it was struck, on a hairline at its written place, sized by loudness; stems and beams stay
    /// with the writing. Where the chart folds repeats or shows a typical bar, the places are means.
    /// </summary>
    public bool PlayedOverWritten { get; init; }

    /// <summary>With <see cref="PlayedOverWritten"/>: each stroke's offset in whole milliseconds, + = late.</summary>
    public bool Offsets { get; init; }

    /// <summary>Under each line of the chart, on its time axis: the tempo of each beat and the loudness of each stroke.</summary>
    public bool TempoAndTouch { get; init; }

    /// <summary>The chart as written and nothing else.</summary>
    public static EngravingLook AsWritten { get; } = new();
}
