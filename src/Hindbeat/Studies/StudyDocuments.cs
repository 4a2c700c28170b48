using System.Text.Json;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Pulses;

namespace Hindbeat.Studies;

/// <summary>From a study to the document that other programs read.</summary>
public static class StudyDocuments
{
    /// <param name="options">Further options to record beside what heard and measured it; a name given twice takes this value.</param>
    public static StudyDocument From(Study study, IReadOnlyDictionary<string, string>? options = null)
    {
        ArgumentNullException.ThrowIfNull(study);
        (PulseEntry pulse, IReadOnlyList<HitEntry> hits) = StudyDocument.EntriesOf(study.Performance);
        return new StudyDocument
        {
            Recording = study.Recording is { } file
                ? new RecordingEntry(file.File, file.Seconds, file.SampleRate, file.Channels, file.Sha256)
                : null,
            Passage = new PassageEntry(study.From.TotalSeconds, study.To.TotalSeconds),
            Pulse = pulse,
            Hits = hits,
            Feel = Feel(study.Feel),
            Options = Options(study, options),
            Doubts = [.. Texts(study.Recording?.Doubts ?? []).Concat(Texts(study.Doubts)).Concat(Texts(study.Feel.Doubts)).Distinct()],
        };
    }

    private static FeelEntry Feel(FeelReport feel) => new(
        feel.ReferenceName,
        [.. feel.Swing.Select(figure => new SwingEntry(
            figure.Level == SwingLevel.Eighth ? "8th" : "16th",
            [.. figure.Pieces.Select(piece => piece.Id())],
            figure.Ratio.Value, figure.Ratio.Low, figure.Ratio.High,
            figure.Pairs,
            figure.Verdict switch
            {
                SwingVerdict.Straight => "straight",
                SwingVerdict.Swung => "swung",
                _ => "undecided",
            },
            Texts(figure.Doubts)))],
        [.. feel.LayBack.Select(figure => new LayBackEntry(
            figure.Piece.Id(), figure.Milliseconds.Value, figure.Milliseconds.Low, figure.Milliseconds.High,
            figure.Beats, figure.Hits, figure.Identified, Texts(figure.Doubts)))],
        [.. feel.Looseness.Select(figure => new LoosenessEntry(
            figure.Piece.Id(), figure.Milliseconds.Value, figure.Milliseconds.Low, figure.Milliseconds.High))],
        [.. feel.Touch.Select(figure => new TouchEntry(
            figure.Piece.Id(), figure.Within.ToString(), figure.Level.Value, figure.Level.Low, figure.Level.High, figure.Beat))],
        new TempoEntry(
            feel.Tempo.Bpm.Value,
            feel.Tempo.DriftBpmPerMinute.Value, feel.Tempo.DriftBpmPerMinute.Low, feel.Tempo.DriftBpmPerMinute.High,
            [.. feel.Tempo.Curve.Select(point => new TempoPointEntry(point.Time.TotalSeconds, point.Bpm.Value))]))
    {
        // An interval open to one side has no number in JSON; such a line is left to the tables.
        Figures = [.. FeelFigures.All.SelectMany(kind => kind.Lines(feel)
            .Where(line => double.IsFinite(line.Value.Value) && double.IsFinite(line.Value.Low) && double.IsFinite(line.Value.High))
            .Select(line => new FigureEntry(kind.Id, line.Subject, line.Value.Value, line.Value.Low, line.Value.High, kind.Unit, line.Strokes, line.Known)))],
    };

    private static Dictionary<string, JsonElement> Options(Study study, IReadOnlyDictionary<string, string>? further)
    {
        var options = new Dictionary<string, JsonElement>
        {
            ["listener"] = JsonSerializer.SerializeToElement(study.Listener),
            ["corrections"] = JsonSerializer.SerializeToElement(study.Corrections.Select(PulseCorrections.Words)),
            ["resamples"] = JsonSerializer.SerializeToElement(study.Feel.Options.Resamples),
            ["seed"] = JsonSerializer.SerializeToElement(study.Feel.Options.Seed),
        };
        foreach ((string name, string value) in further ?? new Dictionary<string, string>())
            options[name] = JsonSerializer.SerializeToElement(value);
        return options;
    }

    private static string[] Texts(IReadOnlyList<Doubt> doubts) => [.. doubts.Select(doubt => doubt.Text)];
}
