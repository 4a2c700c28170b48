using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Listening;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat;

/// <summary>What a person chooses when a recording is studied; null = find it.</summary>
public sealed record StudyOptions
{
    /// <summary>Where the passage starts; null = the recording's start.</summary>
    public AudioTime? From { get; init; }

    /// <summary>Where the passage ends; null = the recording's end.</summary>
    public AudioTime? To { get; init; }

    public Bpm? Tempo { get; init; }
    public Meter? Meter { get; init; }

    /// <summary>Where beat 1 of bar 1 falls.</summary>
    public AudioTime? BarOne { get; init; }

    /// <summary>What shape the tempo may take; found when not stated.</summary>
    public TempoShape Shape { get; init; }

    /// <summary>What a person has corrected in the pulse, in order; kept in the study.</summary>
    public IReadOnlyList<PulseCorrection> Corrections { get; init; } = [];

    /// <summary>What a person has changed in the chart of an earlier study of this passage; done again and kept.</summary>
    public IReadOnlyList<ChartEdit> Edits { get; init; } = [];

    /// <summary>What late and early are measured against; null = the timekeeping hand when it is steady, else the whole kit.</summary>
    public FeelReference? Reference { get; init; }

    /// <summary>Another track on the same clock as the reference; goes before <see cref="Reference"/>. <see cref="StudyMaker.ReadTrack"/> reads one.</summary>
    public KeptTrack? Against { get; init; }

    /// <summary>Null = the file's name.</summary>
    public string? Name { get; init; }

    /// <summary>Null = the library gives one on saving.</summary>
    public string? Id { get; init; }

    /// <summary>When the study was made; the engine has no clock of its own.</summary>
    public DateTimeOffset Created { get; init; } = DateTimeOffset.UnixEpoch;

    /// <summary>Null = the default listener.</summary>
    public IListener? Listener { get; init; }
}

/// <summary>The steps of making a study, in order.</summary>
public enum StudyStage
{
    Reading,
    Listening,
    Pulse,
    Feel,
}

/// <param name="Done">Share of the stage that is done, 0 to 1.</param>
public readonly record struct StudyProgress(StudyStage Stage, double Done);
