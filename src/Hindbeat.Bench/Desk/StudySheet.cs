using Hindbeat.Bench.Wording;
using Hindbeat.Performances;
using Hindbeat.Studies;

namespace Hindbeat.Bench.Desk;

/// <summary>What the page's script needs to know of a study; times in seconds of the recording.</summary>
/// <param name="Beats">[time, bar, beat] of each beat of the pulse.</param>
/// <param name="Hits">In the order of <see cref="Performance.Hits"/>.</param>
/// <param name="Rows">Ids and names of the pieces, from the top row to the lowest.</param>
/// <param name="Original">Address of the recording's sound; null when there is none.</param>
/// <param name="Rebuild">Address of the rebuild, to which the dials are added.</param>
public sealed record StudySheet(
    double From, double To, int Revision, IReadOnlyList<double[]> Beats, IReadOnlyList<SheetHit> Hits, IReadOnlyList<string[]> Rows, string? Original, string Rebuild)
{
    public static StudySheet Of(Study study, bool hasOriginal)
    {
        Pulse pulse = study.Performance.Pulse;
        IReadOnlyList<KitPiece> rows = PieceOrder.Of(study.Performance.Hits);
        return new StudySheet(
            study.From.TotalSeconds,
            study.To.TotalSeconds,
            study.Revision,
            [.. pulse.Beats.Select(beat => new[] { beat.Time.TotalSeconds, beat.Bar, beat.Number })],
            [.. study.Performance.Hits.Select(hit => SheetHit.Of(hit, pulse))],
            [.. rows.Select(piece => new[] { piece.Id(), piece.Name() })],
            hasOriginal ? $"/sound/{study.Id}/original" : null,
            $"/sound/{study.Id}/rebuild");
    }
}

/// <param name="Time">When it was played.</param>
/// <param name="Written">When its written place falls; null when it has none.</param>
/// <param name="Piece">Its id.</param>
/// <param name="Strength">0 to 1, from the velocity.</param>
/// <param name="Marks">"g" ghost, "a" accent.</param>
/// <param name="Sure">Its confidence.</param>
/// <param name="Say">What the readout says of it.</param>
public sealed record SheetHit(double Time, double? Written, string Piece, double Strength, string Marks, double Sure, string Say)
{
    /// <summary>Below this a stroke is more likely heard wrongly than the page should hide.</summary>
    public const double SureFrom = 0.5;

    internal static SheetHit Of(Hit hit, Pulse pulse) => new(
        hit.Time.TotalSeconds,
        hit.Position is { } place ? pulse.TimeAt(place).TotalSeconds : null,
        hit.Piece.Id(),
        Math.Round(hit.Velocity / 127.0, 3),
        (hit.Marks.HasFlag(HitMarks.Ghost) ? "g" : "") + (hit.Marks.HasFlag(HitMarks.Accent) ? "a" : ""),
        Math.Round(hit.Confidence, 3),
        Words(hit, pulse));

    private static string Words(Hit hit, Pulse pulse)
    {
        string doubt = hit.Confidence < SureFrom ? $", doubtful ({Wording.Say.Plain(100 * hit.Confidence, "0")}\u00A0% sure)" : "";
        if (hit.Position is not { } position)
            return $"{hit.Piece.Name()}, fits no written place, {Wording.Say.Decibels(hit.Level.Dbfs)}{doubt}";
        string marks = (hit.Marks == HitMarks.None ? "" : ", " + Wording.Say.Marks(hit.Marks)) + (hit.Ring is { } ring ? $", rings {Wording.Say.Plain(ring.Milliseconds, "0")}\u00A0ms" : "");
        return $"{Wording.Say.Place(position)}: {hit.Piece.Name()}{marks}, {Wording.Say.Milliseconds((hit.Time - pulse.TimeAt(position)).Milliseconds)} from its written place, {Wording.Say.Decibels(hit.Level.Dbfs)}{doubt}";
    }
}
