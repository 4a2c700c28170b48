namespace Hindbeat.Feel;

/// <summary>How a passage's feel is measured.</summary>
public sealed record FeelOptions
{
    /// <summary>
    /// Fewest resamples allowed: the 2.5 % point of 2,000 draws rests on 50 of them, which moves an
    /// interval's end by about 3 % of its half width from seed to seed.
    /// </summary>
    public const int FewestResamples = 2000;

    /// <summary>What deviations are measured against; null = the timekeeping hand when it is steady, else the whole kit.</summary>
    public FeelReference? Reference { get; init; }

    /// <summary>How far the strokes may lie off where they come from sound; null = their times are exact, as an electronic kit's.</summary>
    public HearingError? Hearing { get; init; }

    /// <summary>How often the bars are resampled for the intervals; <see cref="FewestResamples"/> to 100,000.</summary>
    public int Resamples { get; init; } = FewestResamples;

    /// <summary>Seed of the resampling; the same seed gives the same intervals.</summary>
    public ulong Seed { get; init; } = 1;
}
