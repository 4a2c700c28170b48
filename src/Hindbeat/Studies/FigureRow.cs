using System.Text.Json.Serialization;
using Hindbeat.Feel;
using Hindbeat.Performances;

namespace Hindbeat.Studies;

/// <summary>
/// One figure of one study as a row of the library's table; the columns are described in docs/library-table.md, and both files (CSV, Parquet)
/// have them in this order under the names given here.
/// </summary>
public sealed class FigureRow
{
    /// <summary>The study's id.</summary>
    [JsonPropertyName("study")]
    public string Study { get; init; } = "";

    [JsonPropertyName("name")]
    public string Name { get; init; } = "";

    /// <summary>The recording's or MIDI file's name; null when there is none.</summary>
    [JsonPropertyName("file")]
    public string? File { get; init; }

    /// <summary>When the study was made, ISO 8601 with its offset.</summary>
    [JsonPropertyName("created")]
    public string Created { get; init; } = "";

    /// <summary>The owner's words, with commas between.</summary>
    [JsonPropertyName("tags")]
    public string Tags { get; init; } = "";

    /// <summary>Where the passage starts in the recording, seconds.</summary>
    [JsonPropertyName("passage_from")]
    public double PassageFrom { get; init; }

    /// <summary>Where it ends, seconds.</summary>
    [JsonPropertyName("passage_to")]
    public double PassageTo { get; init; }

    [JsonPropertyName("meter")]
    public string Meter { get; init; } = "";

    /// <summary>Mean tempo, beats a minute.</summary>
    [JsonPropertyName("bpm")]
    public double Bpm { get; init; }

    /// <summary>Bars with a stroke in them.</summary>
    [JsonPropertyName("bars")]
    public int Bars { get; init; }

    /// <summary>Id of the kind of figure; its page under docs/measures has the same name.</summary>
    [JsonPropertyName("figure")]
    public string Figure { get; init; } = "";

    /// <summary>What is measured, in words: "16ths, all", "kick", "snare, beat 2".</summary>
    [JsonPropertyName("of")]
    public string Of { get; init; } = "";

    /// <summary>Id of the kit piece; null where the figure is of several or of none.</summary>
    [JsonPropertyName("piece")]
    public string? Piece { get; init; }

    /// <summary>Place of the bar as it is counted: "beat 2", "2 &amp;"; null where the figure is of the whole bar.</summary>
    [JsonPropertyName("place")]
    public string? Place { get; init; }

    /// <summary>The value; null when it is not a finite number. Late, later and louder are positive.</summary>
    [JsonPropertyName("value")]
    public double? Value { get; init; }

    /// <summary>Low end of the 95 % interval; null when it is open on this side.</summary>
    [JsonPropertyName("low")]
    public double? Low { get; init; }

    /// <summary>High end.</summary>
    [JsonPropertyName("high")]
    public double? High { get; init; }

    [JsonPropertyName("unit")]
    public string Unit { get; init; } = "";

    /// <summary>False when the recording cannot tell: the value is then only the sum that is known.</summary>
    [JsonPropertyName("identified")]
    public bool Identified { get; init; }

    /// <summary>What late and early are measured against, in words.</summary>
    [JsonPropertyName("reference")]
    public string Reference { get; init; } = "";

    /// <summary>Strokes that it rests on; 0 when it rests on the whole passage.</summary>
    [JsonPropertyName("strokes")]
    public int Strokes { get; init; }

    [JsonPropertyName("verdict")]
    public string Verdict { get; init; } = "";

    /// <summary>What makes the figure doubtful, a sentence each.</summary>
    [JsonPropertyName("doubts")]
    public string Doubts { get; init; } = "";

    /// <summary>All figures of a study, in the order of the page.</summary>
    public static IEnumerable<FigureRow> AllOf(Study study)
    {
        ArgumentNullException.ThrowIfNull(study);
        StudySummary summary = StudySummary.Of(study);
        foreach (FeelFigureKind kind in FeelFigures.All)
        {
            foreach (FeelLine line in kind.Lines(study.Feel))
                yield return Row(study, summary, kind, line);
        }
    }

    private static FigureRow Row(Study study, StudySummary summary, FeelFigureKind kind, FeelLine line)
    {
        string[] parts = line.Subject.Split(", ", 2);
        KitPiece? piece = KitPieces.All.Select(one => (KitPiece?)one).FirstOrDefault(one => one!.Value.Name() == parts[0]);
        bool ofPlace = kind == FeelFigures.Openness || (piece is not null && parts.Length == 2);
        return new FigureRow
        {
            Study = study.Id,
            Name = study.Name,
            File = summary.File,
            Created = study.Created.ToString("O", System.Globalization.CultureInfo.InvariantCulture),
            Tags = string.Join(',', study.Tags),
            PassageFrom = study.From.TotalSeconds,
            PassageTo = study.To.TotalSeconds,
            Meter = summary.Meter,
            Bpm = summary.Bpm,
            Bars = summary.Bars,
            Figure = kind.Id,
            Of = line.Subject,
            Piece = piece?.Id(),
            Place = ofPlace ? parts[^1] : null,
            Value = Finite(line.Value.Value),
            Low = Finite(line.Value.Low),
            High = Finite(line.Value.High),
            Unit = kind.Unit,
            Identified = line.Known,
            Reference = study.Feel.ReferenceName,
            Strokes = line.Strokes,
            Verdict = line.Verdict,
            Doubts = string.Join(' ', line.Doubts.Select(doubt => doubt.Text)),
        };
    }

    private static double? Finite(double value) => double.IsFinite(value) ? value : null;
}
