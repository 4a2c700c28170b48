using System.Text.Json;
using System.Text.Json.Serialization;
using Hindbeat.Feel;

namespace Hindbeat.Studies;

/// <summary>Two studies side by side as JSON for other programs; numbers at four decimals, positive = more, later or louder in the second.</summary>
public sealed record ComparisonDocument(ComparedStudy First, ComparedStudy Second, double? Distance, IReadOnlyList<DifferenceEntry> Differences, IReadOnlyList<string> Doubts)
{
    private static readonly JsonSerializerOptions Options = new()
    {
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
        WriteIndented = true,
        Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    };

    [JsonPropertyOrder(-2)]
    public string Format { get; } = "hindbeat-comparison";

    [JsonPropertyOrder(-1)]
    public int Version { get; } = 1;

    /// <summary>Differences of figures that both have; an interval open to one side has no number in JSON and is left out.</summary>
    public static ComparisonDocument Of(string firstName, FeelReport first, string secondName, FeelReport second)
    {
        ArgumentNullException.ThrowIfNull(first);
        ArgumentNullException.ThrowIfNull(second);
        FeelComparisonResult comparison = FeelComparison.Between(first, second);
        return new ComparisonDocument(
            new ComparedStudy(firstName, first.ReferenceName, Round(first.Tempo.Bpm.Value)), new ComparedStudy(secondName, second.ReferenceName, Round(second.Tempo.Bpm.Value)),
            FeelDistance.Between(first, second) is { } distance ? Round(distance) : null,
            [.. comparison.Differences.Where(difference => double.IsFinite(difference.Difference.Low) && double.IsFinite(difference.Difference.High)).Select(difference => new DifferenceEntry(
                difference.Kind.Id, difference.Subject, difference.Kind.Unit, IntervalEntry.Of(difference.First), IntervalEntry.Of(difference.Second), IntervalEntry.Of(difference.Difference),
                difference.IsSure, difference.HeardFromTimes is { } times ? Round(times) : null, difference.Text))],
            [.. comparison.Doubts.Select(doubt => doubt.Text)]);
    }

    public string ToJson() => JsonSerializer.Serialize(this, Options);

    internal static double Round(double value) => Math.Round(value, 4) + 0.0;
}

/// <param name="Reference">What its late and early are measured against, in words.</param>
public sealed record ComparedStudy(string Name, string Reference, double Bpm);

/// <summary>A value with its 95 % interval.</summary>
public sealed record IntervalEntry(double Value, double Low, double High)
{
    internal static IntervalEntry Of(Estimate estimate) =>
        new(ComparisonDocument.Round(estimate.Value), ComparisonDocument.Round(estimate.Low), ComparisonDocument.Round(estimate.High));
}

/// <param name="Figure">Id of the kind; its page under docs/measures has the same name.</param>
/// <param name="Of">What is measured, in words.</param>
/// <param name="Sure">Whether the difference's interval leaves out zero.</param>
/// <param name="TimesOfHearing">Difference ÷ what listeners in a published study could tell; null when no study is known.</param>
public sealed record DifferenceEntry(
    string Figure, string Of, string Unit, IntervalEntry First, IntervalEntry Second, IntervalEntry Difference, bool Sure, double? TimesOfHearing, string Text);
