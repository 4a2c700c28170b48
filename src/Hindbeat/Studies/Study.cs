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

    /// <summary>What was said of the pulse before it was looked for; a new listening is told the same.</summary>
    public PulseOptions Stated { get; init; } = new();

    /// <summary>
    /// What a person has changed in the chart, in order; <see cref="Performance"/> has them done. <see cref="StudyEditor"/>
    /// adds to them and takes them back.
    /// </summary>
    public IReadOnlyList<ChartEdit> Edits { get; init; } = [];

    /// <summary>Edits taken back that can be done again, the next one first.</summary>
    public IReadOnlyList<ChartEdit> UndoneEdits { get; init; } = [];

    /// <summary>The performance before the first edit; null when there are none.</summary>
    public Performance? Unedited { get; init; }

    /// <summary>Words of the owner's to find the study by: plain, each once, in the order given.</summary>
    public IReadOnlyList<string> Tags { get; init; } = [];

    /// <summary>Every change by hand since the study was made, whatever it changed, in order; <see cref="StudyHistory"/> makes and undoes them.</summary>
    public IReadOnlyList<StudyChange> Changes { get; init; } = [];

    /// <summary>What was undone and can be done again, the last undone last.</summary>
    public IReadOnlyList<StudyChange> UndoneChanges { get; init; } = [];

    /// <summary>The study before the first of its changes; null when there are none.</summary>
    public Study? Unchanged { get; init; }

    /// <summary>Grows with every change, undo and redo, so that two states of one study can be told apart.</summary>
    public int Revision { get; init; }

    /// <summary>What the feel is measured against when that is another track; null = something in the passage itself.</summary>
    public KeptTrack? Against { get; init; }
}
