namespace Hindbeat.Feel;

/// <summary>A line to draw beside a swing: where the trade and the literature put their marks.</summary>
public sealed record SwingLandmark(string Name, double Ratio, string Source);

/// <summary>The trade's landmarks of swing, as data for drawing.</summary>
public static class SwingLandmarks
{
    public static SwingLandmark Straight { get; } = new("straight", 1, "definition");

    /// <summary>Common practice, no source: two thirds and one third of the pair.</summary>
    public static SwingLandmark Triplet { get; } = new("triplet", 2, "common practice");

    /// <summary>Two that stand at every tempo.</summary>
    public static IReadOnlyList<SwingLandmark> Fixed { get; } = [Straight, Triplet];

    /// <summary>
    /// The ride's 8ths at a tempo: the short note of a pair keeps about 100 ms, so R = (60,000 ÷ bpm − 100) ÷ 100, at least 1
    /// and at most 3.5, the largest reported near 120 bpm. Null outside 100 to 320 bpm, about the range that was studied.
    /// </summary>
    /// <remarks>Friberg and Sundström 2002, Music Perception 19(3):333–349 (read in abstract); the formula is its plain reading.</remarks>
    public static SwingLandmark? RideAt(double beatsPerMinute)
    {
        const double ShortNoteMs = 100;
        return beatsPerMinute is >= 100 and <= 320
            ? new SwingLandmark("ride at this tempo", Math.Clamp(((60_000 / beatsPerMinute) - ShortNoteMs) / ShortNoteMs, 1, 3.5), "Friberg and Sundström 2002")
            : null;
    }

    /// <summary>Median 16th swing of thirty funk and soul breaks. Frane 2017, Music Perception 34(3):291–302 (read in abstract).</summary>
    public static SwingLandmark Breaks { get; } = new("median of thirty breaks", 1.2, "Frane 2017");
}
