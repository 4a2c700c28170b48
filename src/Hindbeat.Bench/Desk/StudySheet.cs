using Hindbeat.Performances;
using Hindbeat.Studies;

namespace Hindbeat.Bench.Desk;

/// <summary>What the page's script needs to know of a study; times in seconds of the recording.</summary>
/// <param name="Beats">[time, bar, beat] of each beat in the passage.</param>
/// <param name="Hits">In the order of <see cref="Performance.Hits"/>.</param>
public sealed record StudySheet(double From, double To, IReadOnlyList<double[]> Beats, IReadOnlyList<SheetHit> Hits, IReadOnlyList<SheetVersion> Versions)
{
    public static StudySheet Of(Study study, bool hasOriginal)
    {
        Pulse pulse = study.Performance.Pulse;
        var versions = new List<SheetVersion>();
        if (hasOriginal)
        {
            versions.Add(new SheetVersion("original", $"/sound/{study.Id}/original",
                [[0, study.From.TotalSeconds], [(study.To - study.From).Value, study.To.TotalSeconds]]));
        }

        foreach (RebuildVersion version in RebuildVersions.All)
            versions.Add(new SheetVersion(version.Id(), $"/sound/{study.Id}/rebuild/{version.Id()}", StudySounds.RebuildTimes(study, version)));
        return new StudySheet(
            study.From.TotalSeconds,
            study.To.TotalSeconds,
            [.. pulse.Beats.Where(beat => beat.Time >= study.From && beat.Time <= study.To).Select(beat => new[] { beat.Time.TotalSeconds, beat.Bar, beat.Number })],
            [.. study.Performance.Hits.Select(hit => SheetHit.Of(hit, pulse))],
            versions);
    }
}

/// <param name="Time">When it was played.</param>
/// <param name="Written">When its written place falls; null when it has none.</param>
/// <param name="Say">What the readout says of it.</param>
public sealed record SheetHit(double Time, double? Written, string Say)
{
    internal static SheetHit Of(Hit hit, Pulse pulse)
    {
        if (hit.Position is not { } position)
            return new SheetHit(hit.Time.TotalSeconds, null, $"{hit.Piece.Name()}, fits no written place, {Wording.Say.Decibels(hit.Level.Dbfs)}");
        string marks = hit.Marks == HitMarks.None ? "" : ", " + Wording.Say.Marks(hit.Marks);
        return new SheetHit(
            hit.Time.TotalSeconds, pulse.TimeAt(position).TotalSeconds,
            $"{Wording.Say.Place(position)}: {hit.Piece.Name()}{marks}, {Wording.Say.Milliseconds((hit.Time - pulse.TimeAt(position)).Milliseconds)} from its written place, {Wording.Say.Decibels(hit.Level.Dbfs)}");
    }
}

/// <param name="Times">Pairs [second of the sound, second of the recording], rising: how the playhead follows.</param>
public sealed record SheetVersion(string Id, string Address, IReadOnlyList<double[]> Times);
