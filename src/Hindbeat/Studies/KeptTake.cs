using System.Text.Json;
using System.Text.Json.Serialization;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Takes;
using Hindbeat.Units;

namespace Hindbeat.Studies;

/// <summary>One stroke of a kept take.</summary>
/// <param name="T">Seconds on the take's own clock, as recorded.</param>
/// <param name="P">Kit piece id.</param>
/// <param name="V">Velocity, 1 to 127.</param>
public sealed record KeptStroke(double T, string P, int V);

/// <summary>One compared figure. Values are in the figure's unit, low and high its 95 % interval; difference = take − passage.</summary>
/// <param name="Sure">Whether chance alone would hardly show it (<see cref="TakeComparison"/>).</param>
public sealed record KeptDifference(
    string Figure, string Subject, Estimate Passage, Estimate Take, Estimate Difference, bool Sure);

/// <summary>A take of a study as the library keeps it: enough to compare it again, and what the comparison said.</summary>
/// <param name="Id">Given by the library.</param>
/// <param name="Found">Share of the passage's strokes played at their places, 0 to 1.</param>
/// <param name="ToWorkOn">Weight of the first advice, 0 when nothing stands out.</param>
/// <param name="DelayMs">The delay that was known, the recording's or the kit's own; null when none was.</param>
public sealed record KeptTake(
    string Id,
    string StudyId,
    string Name,
    DateTimeOffset Played,
    double Bpm,
    int Rounds,
    double Found,
    int Missed,
    int Moved,
    int Added,
    double ToWorkOn,
    double? DelayMs,
    string? Source,
    IReadOnlyList<string> Advice,
    IReadOnlyList<KeptDifference> Figures,
    IReadOnlyList<string> Doubts,
    IReadOnlyList<KeptStroke> Strokes)
{
    /// <summary>Half of the 95 % interval of <see cref="DelayMs"/>; null when none was measured or it is not known.</summary>
    public double? DelayWithinMs { get; init; }

    /// <summary>Where the kit lies against what it was played to; null without a click or a known delay, and in takes of earlier versions.</summary>
    public ClickLateness? AgainstClick { get; init; }

    /// <summary>Whether strokes of take or passage were heard, not read from MIDI; null in takes of earlier versions, which did not say.</summary>
    public bool? Heard { get; init; }

    private static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web)
    {
        NumberHandling = JsonNumberHandling.AllowNamedFloatingPointLiterals,
    };

    /// <summary>What to work on first; null when nothing was telling.</summary>
    [JsonIgnore]
    public string? StoodOut => ToWorkOn >= TakeAdvice.LeastTelling && Advice.Count > 0 ? Advice[0] : null;

    /// <summary>How the practice ladder sees it.</summary>
    [JsonIgnore]
    public TakeMark Mark => new(Played, Units.Bpm.Of(Bpm), Found, ToWorkOn);

    public static KeptTake Of(string studyId, string name, DateTimeOffset played, string? source, Latency? latency, TakeComparisonResult result)
    {
        ArgumentNullException.ThrowIfNull(result);
        AlignedTake take = result.Take;
        return new KeptTake(
            "", studyId, name, played, take.Performance.Pulse.MeanTempo.Value, take.Rounds, take.Found, take.Missed.Count, take.Moved.Count, take.Extra.Count,
            result.Advice.Count == 0 ? 0 : result.Advice[0].Weight, latency?.Delay.Milliseconds, source,
            [.. result.Advice.Select(advice => advice.Text)],
            [.. result.Differences.Select(one => new KeptDifference(one.Kind.Id, one.Subject, one.First, one.Second, one.Difference, result.Reported.Contains(one)))],
            [.. result.Doubts.Select(doubt => doubt.Text)],
            [.. take.Performance.Hits.Select(hit => new KeptStroke(hit.Time.TotalSeconds, hit.Piece.Id(), hit.Velocity))])
        {
            AgainstClick = result.AgainstClick,
            DelayWithinMs = latency?.Uncertainty.Milliseconds,
            Heard = result.Reference.Options.Hearing is not null,
        };
    }

    /// <summary>The take beside its passage as that is now written.</summary>
    /// <exception cref="InputException">It can no longer be laid on it.</exception>
    public TakeComparisonResult Compare(Performance passage)
    {
        Hit[] hits = [.. Strokes.Select(stroke => new Hit(AudioTime.FromSeconds(stroke.T), KitPieces.Parse(stroke.P), stroke.V, KitMidiFile.LevelOf(stroke.V), 1))];
        return TakeComparison.Of(passage, TakeAligner.Align(passage, hits), TakeComparison.OptionsFor(Heard ?? Source is not null));
    }

    public string ToJson() => JsonSerializer.Serialize(this, Json);

    /// <exception cref="InputException">Not a take, or saved in a form that this version cannot read.</exception>
    public static KeptTake FromJson(string json)
    {
        try
        {
            return JsonSerializer.Deserialize<KeptTake>(json, Json) ?? throw new InputException("The take is empty.");
        }
        catch (JsonException reason)
        {
            throw new InputException($"The take cannot be read: {reason.Message.ReplaceLineEndings(" ")}", reason);
        }
    }
}
