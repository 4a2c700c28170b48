using System.Text.Json;
using Hindbeat.Units;

namespace Hindbeat.Performances;

/// <summary>Study documents to and from JSON, every value checked on both ways.</summary>
internal static class StudyDocumentFile
{
    public static void Write(StudyDocument document, Stream stream)
    {
        ArgumentNullException.ThrowIfNull(stream);
        Check(document);
        byte[] whole;
        try
        {
            whole = JsonSerializer.SerializeToUtf8Bytes(document, StudyDocumentJson.Default.StudyDocument);
        }
        catch (ArgumentException e)
        {
            // JSON has no NaN; the figures of the feel are not checked one by one above.
            throw new InputException("A figure of this study is not a finite number, so it cannot be written.", e);
        }

        stream.Write(whole);
        stream.WriteByte((byte)'\n');
    }

    public static StudyDocument Read(Stream stream)
    {
        ArgumentNullException.ThrowIfNull(stream);
        StudyDocument? read;
        try
        {
            using JsonDocument json = JsonDocument.Parse(stream);
            CheckHead(json.RootElement);
            read = json.Deserialize(StudyDocumentJson.Default.StudyDocument);
        }
        catch (JsonException e) when (e.Path is null)
        {
            string place = e.LineNumber is { } line ? $" (line {line + 1})" : "";
            throw new InputException($"This is not a study document: it is not JSON, or cut short{place}.", e);
        }
        catch (JsonException e)
        {
            throw new InputException($"This study document is damaged: {e.Message.ReplaceLineEndings(" ")}", e);
        }

        StudyDocument document = read ?? throw new InputException("This is not a study document: it is empty.");
        Check(document);
        return document;
    }

    /// <summary>Format and version first: a document of a newer kind may lack what is required here.</summary>
    private static void CheckHead(JsonElement root)
    {
        if (root.ValueKind != JsonValueKind.Object || !root.TryGetProperty("format", out JsonElement format) || format.ValueKind != JsonValueKind.String)
            throw new InputException($"This JSON is not a study document: it has no \"format\": \"{StudyDocument.FormatName}\".");
        if (format.GetString() != StudyDocument.FormatName)
            throw new InputException($"This JSON is a \"{format.GetString()}\" document, not a \"{StudyDocument.FormatName}\".");
        if (!root.TryGetProperty("version", out JsonElement version) || version.ValueKind != JsonValueKind.Number || !version.TryGetInt32(out int number) || number < 1)
            throw new InputException("This study document has no version number.");
        if (number > StudyDocument.NewestVersion)
            throw new InputException($"This study document has version {number}, this program reads up to {StudyDocument.NewestVersion}; it comes from a newer Hindbeat.");
    }

    private static void Check(StudyDocument document)
    {
        if (document.Passage is { } passage && !(double.IsFinite(passage.From) && double.IsFinite(passage.To) && passage.From < passage.To))
            throw new InputException(FormattableString.Invariant($"The passage from {passage.From} to {passage.To} s does not run forward."));
        CheckShare(document.Pulse.Confidence, "The pulse's confidence");
        for (int i = 0; i < document.Pulse.Beats.Count; i++)
            CheckTime(document.Pulse.Beats[i].T, "Beat", i);
        for (int i = 0; i < document.Hits.Count; i++)
            CheckHit(document.Hits[i], i);
    }

    private static void CheckHit(HitEntry hit, int index)
    {
        CheckTime(hit.T, "Hit", index);
        if (hit.Velocity is < 1 or > 127)
            throw new InputException($"Hit {index + 1} has velocity {hit.Velocity}; velocities run from 1 to 127.");
        if (!double.IsFinite(hit.Level) || hit.DeviationMs is { } deviation && !double.IsFinite(deviation))
            throw new InputException($"Hit {index + 1} has a level or deviation that is not a finite number.");
        if (hit.RingMs is { } ring && !(ring >= 0 && ring <= 60_000))
            throw new InputException(FormattableString.Invariant($"Hit {index + 1} rings for {ring} ms; a ring is a number of milliseconds up to a minute."));
        if (hit.Level > 60)
            throw new InputException(FormattableString.Invariant($"Hit {index + 1} has a level of {hit.Level} dBFS; was a velocity or a percentage written as level?"));
        CheckShare(hit.Confidence, $"Hit {index + 1}'s confidence");
        if (!KitPieces.TryParse(hit.Piece, out _))
            throw new InputException($"Hit {index + 1} is on '{hit.Piece}', which is not a kit piece; the pieces are {string.Join(", ", KitPieces.All.Select(piece => piece.Id()))}.");
        bool placed = hit.Bar is not null;
        if (placed != hit.Beat is not null || placed != hit.Position is not null)
            throw new InputException($"Hit {index + 1} has only a part of its written place; it needs bar, beat and position, or none of them.");
    }

    private static void CheckTime(double seconds, string what, int index)
    {
        if (!double.IsFinite(seconds))
            throw new InputException($"{what} {index + 1} has a time that is not a finite number.");
        // A day: longer than any recording, shorter than any sample index that matters.
        if (Math.Abs(seconds) > 86400)
            throw new InputException(FormattableString.Invariant($"{what} {index + 1} is at {seconds} s; were samples or milliseconds written as seconds?"));
    }

    private static void CheckShare(double share, string what)
    {
        if (!(share >= 0 && share <= 1))
            throw new InputException(FormattableString.Invariant($"{what} is {share}; it lies between 0 and 1."));
    }
}
