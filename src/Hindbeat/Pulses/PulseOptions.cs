using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Pulses;

/// <summary>What a person already knows of the pulse; null = find it.</summary>
public sealed record PulseOptions
{
    public Bpm? Tempo { get; init; }
    public Meter? Meter { get; init; }

    /// <summary>Where beat 1 of bar 1 falls.</summary>
    public AudioTime? BarOne { get; init; }

    /// <summary>What shape the tempo may take.</summary>
    public TempoShape Shape { get; init; }

    /// <summary>What a person has corrected in the pulse that is found; applied in this order.</summary>
    public IReadOnlyList<PulseCorrection> Corrections { get; init; } = [];
}

/// <summary>The pulse that explains a passage best.</summary>
/// <param name="Performance">The pulse, and the hits with their written positions.</param>
/// <param name="RunnerUp">The next best reading, in words ("92 bpm, half as fast"); null when there is none.</param>
public sealed record PulseResult(Performance Performance, string? RunnerUp, IReadOnlyList<Doubt> Doubts);
