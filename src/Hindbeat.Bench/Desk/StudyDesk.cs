using System.Collections.Concurrent;
using Hindbeat.Feel;
using Hindbeat.Sound;
using Hindbeat.Studies;

namespace Hindbeat.Bench.Desk;

/// <summary>Keeps what pages ask for again and again, so that a page is drawn from memory.</summary>
public sealed class StudyDesk(IStudySource studies)
{
    /// <summary>A waveform's columns: one a pixel on a wide page, as seen at double density on a tablet.</summary>
    public const int Columns = 1600;

    private readonly ConcurrentDictionary<string, IReadOnlyList<string>> _charts = new();
    private readonly ConcurrentDictionary<string, FoldedBar> _folded = new();
    private readonly ConcurrentDictionary<string, IReadOnlyList<(float Low, float High)>?> _waveforms = new();

    public IReadOnlyList<Study> List() => studies.List();

    /// <summary>Null for anything that is not the id of a study in the library; an id is never used as a path.</summary>
    public Study? Find(string? id) => id is not null && StudyId.IsOne(id) ? studies.Find(id) : null;

    public IReadOnlyList<string> Chart(Study study) => _charts.GetOrAdd(study.Id, _ => studies.Chart(study));

    public IReadOnlyList<string> InWords(Study study) => studies.InWords(study);

    /// <summary>Resampled with a fixed seed, so that the same study always shows the same intervals.</summary>
    public FoldedBar Fold(Study study) => _folded.GetOrAdd(study.Id, _ => FoldedBar.Fold(study.Performance, seed: 1));

    /// <summary>Pairs [second of the rebuilt sound, second of the recording], rising.</summary>
    public IReadOnlyList<double[]> RebuildTimes(Study study, RebuildVersion version) => studies.RebuildTimes(study, version);

    public StereoSound? Original(Study study) => studies.Original(study);

    public StereoSound Rebuild(Study study, RebuildVersion version) => studies.Rebuild(study, version);

    public IReadOnlyList<(float Low, float High)>? Waveform(Study study) =>
        _waveforms.GetOrAdd(study.Id, _ => studies.Waveform(study, Columns));
}
