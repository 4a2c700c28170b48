using Hindbeat.Feel;
using Hindbeat.Performances;

namespace Hindbeat.Studies;

/// <summary>What a list of studies shows; read from columns, without the studies themselves.</summary>
/// <param name="Bpm">Mean tempo, beats a minute.</param>
/// <param name="Meter">"4/4".</param>
/// <param name="Bars">Bars with a stroke in them.</param>
/// <param name="SwingLevel">Note value of the first figure that swings enough to be written down, or of the first at all; null when nothing could swing.</param>
/// <param name="SwingRatio">Its ratio, 1 = straight.</param>
/// <param name="KickLayBackMs">Milliseconds, positive = late; null when the recording cannot tell.</param>
/// <param name="SnareLayBackMs">As for the kick.</param>
/// <param name="Seconds">Length of the passage.</param>
/// <param name="File">Name of the recording's file; null for MIDI typed in and the demo.</param>
public sealed record StudySummary(
    string Id,
    string Name,
    DateTimeOffset Created,
    double Bpm,
    string Meter,
    int Bars,
    SwingLevel? SwingLevel,
    double? SwingRatio,
    double? KickLayBackMs,
    double? SnareLayBackMs,
    double Seconds,
    string? File)
{
    /// <summary>The owner's words for it.</summary>
    public IReadOnlyList<string> Tags { get; init; } = [];

    /// <summary>The mean bar, small enough to be drawn beside the name.</summary>
    public IReadOnlyList<PictureStroke> Picture { get; init; } = [];

    public static StudySummary Of(Study study)
    {
        ArgumentNullException.ThrowIfNull(study);
        Pulse pulse = study.Performance.Pulse;
        // A groove of swung 16ths has straight 8ths, listed first: the figure that swings is the one looked for.
        // One too slight or too unsure to write down is no more the passage's swing than a straight one.
        SwingFigure? swing = study.Feel.Swing.FirstOrDefault(figure => figure.WorthWriting)
            ?? (study.Feel.Swing.Count > 0 ? study.Feel.Swing[0] : null);
        return new StudySummary(
            study.Id,
            study.Name,
            study.Created,
            pulse.MeanTempo.Value,
            pulse.Meter.ToString(),
            study.Performance.Hits.Where(hit => hit.Position is not null).Select(hit => hit.Position!.Value.Bar).Distinct().Count(),
            swing?.Level,
            swing?.Ratio.Value,
            LayBack(study.Feel, KitPiece.Kick),
            LayBack(study.Feel, KitPiece.Snare),
            (study.To - study.From).Value,
            study.Recording?.File ?? (study.Source is { } source ? Path.GetFileName(source) : null))
        {
            Tags = study.Tags,
            Picture = StudyPicture.Of(study.Performance),
        };
    }

    private static double? LayBack(FeelReport feel, KitPiece piece) =>
        feel.LayBack.FirstOrDefault(figure => figure.Piece == piece && figure.Identified)?.Milliseconds.Value;
}
