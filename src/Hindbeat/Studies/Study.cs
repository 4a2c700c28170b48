using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Studies;

/// <summary>All that is known of one passage.</summary>
/// <param name="Id">Stable, short, safe in a URL and a file name; given by the library.</param>
/// <param name="Source">Where the recording lay when it was studied, full path; null when there is none (MIDI typed in, demo).</param>
/// <param name="Recording">Facts of the file; null for MIDI.</param>
public sealed record Study(
    string Id,
    string Name,
    DateTimeOffset Created,
    string? Source,
    SoundInfo? Recording,
    AudioTime From,
    AudioTime To,
    Performance Performance,
    FeelReport Feel,
    string? RunnerUp,
    string Listener,
    IReadOnlyList<Doubt> Doubts)
{
    /// <summary>What a person has corrected in the pulse, in order; a new listening is corrected the same way.</summary>
    public IReadOnlyList<PulseCorrection> Corrections { get; init; } = [];

    /// <summary>Words of the owner's to find the study by: plain, each once, in the order given.</summary>
    public IReadOnlyList<string> Tags { get; init; } = [];

    /// <summary>How swing is put on paper.</summary>
    public SwingWriting SwingWriting { get; init; }

    /// <summary>Bars that repeat are written once, between repeat signs.</summary>
    public bool FoldRepeats { get; init; }

    /// <summary>Every change by hand since the study was made, in order; <see cref="StudyEditor"/> does and undoes them.</summary>
    public IReadOnlyList<StudyEdit> Edits { get; init; } = [];

    /// <summary>What was undone and can be done again, the last undone last.</summary>
    public IReadOnlyList<StudyEdit> Undone { get; init; } = [];

    /// <summary>Grows with every edit, undo and redo, so that two states of one study can be told apart.</summary>
    public int Revision { get; init; }

    /// <summary>The study before its first edit; null while there was none.</summary>
    public StudyGround? Ground { get; init; }

    /// <summary>Strokes whose written place a person chose; a moved beat leaves those where they are.</summary>
    public IReadOnlyList<StrokeRef> PlacedByHand { get; init; } = [];
}

/// <summary>What edits start from, kept so that undoing is exact.</summary>
public sealed record StudyGround(
    string Name, Performance Performance, FeelReport Feel, string? RunnerUp, IReadOnlyList<Doubt> Doubts, IReadOnlyList<PulseCorrection> Corrections)
{
    public IReadOnlyList<string> Tags { get; init; } = [];
    public SwingWriting SwingWriting { get; init; }
    public bool FoldRepeats { get; init; }
}
