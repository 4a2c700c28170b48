using System.Text.Json;
using System.Text.Json.Serialization;

namespace Hindbeat.Performances;

/// <summary>
/// A study as other programs read it: the "hindbeat-study" JSON document, version 1. Times in seconds from the
/// recording's start, deviations in milliseconds (positive = late), written places as exact fractions of
/// the beat. Its fields stay; new ones may be added, and unknown ones are passed over when reading.
/// </summary>
public sealed record StudyDocument
{
    public const string FormatName = "hindbeat-study";
    public const int NewestVersion = 1;

    public string Format { get; init; } = FormatName;
    public int Version { get; init; } = NewestVersion;

    /// <summary>Null when there is no sound behind the study (MIDI).</summary>
    public RecordingEntry? Recording { get; init; }

    public PassageEntry? Passage { get; init; }
    public required PulseEntry Pulse { get; init; }
    public required IReadOnlyList<HitEntry> Hits { get; init; }
    public FeelEntry? Feel { get; init; }

    /// <summary>What the study was made with: name to any JSON value.</summary>
    public IReadOnlyDictionary<string, JsonElement> Options { get; init; } = new Dictionary<string, JsonElement>();

    public IReadOnlyList<string> Doubts { get; init; } = [];

    /// <summary>Writes UTF-8 JSON; nothing is written when a value cannot be.</summary>
    /// <exception cref="Units.InputException">A value is NaN, infinite or out of its range.</exception>
    public void Write(Stream stream) => StudyDocumentFile.Write(this, stream);

    /// <summary>Reads what <see cref="Write"/> or another program wrote, and checks every value.</summary>
    /// <exception cref="Units.InputException">Not such a document, a newer version, or a value out of range.</exception>
    public static StudyDocument Read(Stream stream) => StudyDocumentFile.Read(stream);

    /// <summary>The hits and the pulse they are measured against; everything that measures works from it.</summary>
    /// <exception cref="Units.InputException">The beats make no pulse.</exception>
    public Performance ToPerformance() => StudyDocumentPerformance.ToPerformance(this);

    /// <summary>Pulse and hits of a performance as entries.</summary>
    public static (PulseEntry Pulse, IReadOnlyList<HitEntry> Hits) EntriesOf(Performance performance) =>
        StudyDocumentPerformance.EntriesOf(performance);
}

/// <summary>The sound file that was studied.</summary>
public sealed record RecordingEntry(
    string File,
    [property: JsonConverter(typeof(Rounded6))] double Seconds,
    int SampleRate,
    int Channels,
    string Sha256);

/// <summary>The part of the recording that was studied, seconds.</summary>
public sealed record PassageEntry(
    [property: JsonConverter(typeof(Rounded6))] double From,
    [property: JsonConverter(typeof(Rounded6))] double To);

/// <param name="Meter">"4/4".</param>
/// <param name="Bpm">Mean tempo.</param>
/// <param name="Confidence">0 to 1.</param>
/// <param name="Source">"tracked", "click" or "by-hand"; tracked when absent.</param>
public sealed record PulseEntry(
    string Meter,
    [property: JsonConverter(typeof(Rounded4))] double Bpm,
    [property: JsonConverter(typeof(Rounded4))] double Confidence,
    IReadOnlyList<BeatEntry> Beats,
    string? Source = null)
{
    /// <summary>Where the meter changes within the passage; absent as a rule.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public IReadOnlyList<MeterEntry>? Meters { get; init; }
}

/// <summary>From a bar on another meter is counted.</summary>
/// <param name="Meter">"7/8".</param>
public sealed record MeterEntry(int Bar, string Meter);

/// <param name="T">Seconds.</param>
/// <param name="Beat">From 1.</param>
public sealed record BeatEntry([property: JsonConverter(typeof(Rounded6))] double T, int Bar, int Beat);

/// <param name="T">Physical onset, seconds.</param>
/// <param name="Piece">Id of the kit piece.</param>
/// <param name="Velocity">1 to 127.</param>
/// <param name="Level">dBFS.</param>
/// <param name="Confidence">0 to 1.</param>
/// <param name="Bar">Null, like beat and position, when the stroke fits no written place.</param>
/// <param name="Position">Exact fraction of the beat: "1/4".</param>
/// <param name="DeviationMs">Played − written; positive = late.</param>
/// <param name="Marks">"ghost", "accent", "flam", "drag", "rimshot", "buzz", "choke", "half-open", "right", "left"; others are passed over.</param>
/// <param name="RingMs">How long a hat rings: time in which its highs fall by 20 dB; null where it is unknown.</param>
public sealed record HitEntry(
    [property: JsonConverter(typeof(Rounded6))] double T,
    string Piece,
    int Velocity,
    [property: JsonConverter(typeof(Rounded3))] double Level,
    [property: JsonConverter(typeof(Rounded4))] double Confidence,
    int? Bar = null,
    int? Beat = null,
    string? Position = null,
    [property: JsonConverter(typeof(Rounded3OrNull))] double? DeviationMs = null,
    IReadOnlyList<string>? Marks = null,
    [property: JsonConverter(typeof(Rounded3OrNull))] double? RingMs = null);
