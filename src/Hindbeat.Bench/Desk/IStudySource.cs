using Hindbeat.Sound;
using Hindbeat.Studies;

namespace Hindbeat.Bench.Desk;

/// <summary>What the bench asks the engine for.</summary>
public interface IStudySource
{
    IReadOnlyList<Study> List();

    /// <summary>Null when the library holds no such study.</summary>
    Study? Find(string id);

    /// <summary>The engraved systems as SVG elements; noteheads carry data-hit = index into the performance's hits.</summary>
    IReadOnlyList<string> Chart(Study study);

    /// <summary>The feel in plain sentences.</summary>
    IReadOnlyList<string> InWords(Study study);

    /// <summary>The passage's own sound; null when its file is gone.</summary>
    StereoSound? Original(Study study);

    /// <summary>Lowest and highest sample of each column of the passage; null when its file is gone.</summary>
    IReadOnlyList<(float Low, float High)>? Waveform(Study study, int columns);

    /// <summary>Pairs [second of the rebuilt sound, second of the recording], rising.</summary>
    IReadOnlyList<double[]> RebuildTimes(Study study, RebuildVersion version);

    StereoSound Rebuild(Study study, RebuildVersion version);
}
