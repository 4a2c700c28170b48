using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>How a rebuild is sounded.</summary>
public sealed record RenderOptions
{
    /// <summary>
    /// The moment of the recording that the sound begins with. Null = the recording's start, or the first
    /// stroke's onset where that lies before it.
    /// </summary>
    public AudioTime? From { get; init; }

    /// <summary>Where the sound ends; null = when the last stroke has rung out.</summary>
    public AudioTime? To { get; init; }

    /// <summary>
    /// Integrated loudness to bring the sound to. −23 LUFS is EBU R 128's programme level; bare drums at
    /// that level keep their peaks under −1 dBTP without a limiter.
    /// </summary>
    public double TargetLufs { get; init; } = -23;

    /// <summary>True peak that is never passed, dBTP (EBU R 128: −1); where it would be, the whole sound is turned down.</summary>
    public double CeilingDbtp { get; init; } = -1;

    /// <summary>Clicks that sound with the strokes (see <see cref="ClickTrack"/>).</summary>
    public IReadOnlyList<PlannedClick> Clicks { get; init; } = [];

    /// <summary>Decides which of two neighbouring layers a stroke takes.</summary>
    public ulong Seed { get; init; } = 1;
}
