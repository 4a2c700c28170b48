using System.Text.Json.Serialization;

namespace Hindbeat.Performances;

/// <summary>The figures of a study's feel; low and high are the 95 % interval of the figure beside them.</summary>
/// <param name="Reference">What deviations are measured against, in words.</param>
public sealed record FeelEntry(
    string Reference,
    IReadOnlyList<SwingEntry> Swing,
    IReadOnlyList<LayBackEntry> LayBack,
    IReadOnlyList<LoosenessEntry> Looseness,
    IReadOnlyList<TouchEntry> Touch,
    TempoEntry Tempo)
{
    /// <summary>Every figure as a line, those above included; null in documents of before.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public IReadOnlyList<FigureEntry>? Figures { get; init; }
}

/// <summary>One figure in one form for all kinds.</summary>
/// <param name="Figure">Id of the kind: "together", "flams"; its page under docs/measures has the same name.</param>
/// <param name="Of">What is measured, in words.</param>
/// <param name="Known">False when the recording cannot tell; the value is then the sum that is known.</param>
public sealed record FigureEntry(
    string Figure,
    string Of,
    [property: JsonConverter(typeof(Rounded4))] double Value,
    [property: JsonConverter(typeof(Rounded4))] double Low,
    [property: JsonConverter(typeof(Rounded4))] double High,
    string Unit,
    int Strokes,
    bool Known);

/// <param name="Level">"8th" or "16th".</param>
/// <param name="Ratio">Long : short, 1 = straight.</param>
/// <param name="Verdict">"straight", "swung" or "undecided".</param>
public sealed record SwingEntry(
    string Level,
    IReadOnlyList<string> Pieces,
    [property: JsonConverter(typeof(Rounded4))] double Ratio,
    [property: JsonConverter(typeof(Rounded4))] double Low,
    [property: JsonConverter(typeof(Rounded4))] double High,
    int Pairs,
    string Verdict,
    IReadOnlyList<string> Doubts);

/// <param name="Ms">Positive = late.</param>
/// <param name="Beats">The same as a share of a beat.</param>
/// <param name="Identified">False when the recording cannot tell it from something else.</param>
public sealed record LayBackEntry(
    string Piece,
    [property: JsonConverter(typeof(Rounded3))] double Ms,
    [property: JsonConverter(typeof(Rounded3))] double Low,
    [property: JsonConverter(typeof(Rounded3))] double High,
    [property: JsonConverter(typeof(Rounded6))] double Beats,
    int Hits,
    bool Identified,
    IReadOnlyList<string> Doubts);

/// <param name="Ms">Standard deviation.</param>
public sealed record LoosenessEntry(
    string Piece,
    [property: JsonConverter(typeof(Rounded3))] double Ms,
    [property: JsonConverter(typeof(Rounded3))] double Low,
    [property: JsonConverter(typeof(Rounded3))] double High);

/// <param name="Position">Exact fraction of the beat.</param>
/// <param name="Level">Mean loudness, dBFS.</param>
/// <param name="Beat">Beat in the bar, from 1.</param>
public sealed record TouchEntry(
    string Piece,
    string Position,
    [property: JsonConverter(typeof(Rounded3))] double Level,
    [property: JsonConverter(typeof(Rounded3))] double Low,
    [property: JsonConverter(typeof(Rounded3))] double High,
    int Beat);

/// <param name="Low">Of the drift, as is high.</param>
public sealed record TempoEntry(
    [property: JsonConverter(typeof(Rounded4))] double Bpm,
    [property: JsonConverter(typeof(Rounded4))] double DriftBpmPerMinute,
    [property: JsonConverter(typeof(Rounded4))] double Low,
    [property: JsonConverter(typeof(Rounded4))] double High,
    IReadOnlyList<TempoPointEntry> Curve);

public sealed record TempoPointEntry(
    [property: JsonConverter(typeof(Rounded6))] double T,
    [property: JsonConverter(typeof(Rounded4))] double Bpm);
