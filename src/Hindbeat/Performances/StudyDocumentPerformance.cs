using Hindbeat.Units;

namespace Hindbeat.Performances;

/// <summary>Between a document's entries and the plain data that is measured.</summary>
internal static class StudyDocumentPerformance
{
    private static readonly (PulseSource Source, string Word)[] Sources =
        [(PulseSource.Tracked, "tracked"), (PulseSource.Click, "click"), (PulseSource.ByHand, "by-hand")];

    public static Performance ToPerformance(StudyDocument document)
    {
        try
        {
            PulseEntry entry = document.Pulse;
            PulseSource source = entry.Source is null ? PulseSource.Tracked
                : Sources.Any(row => row.Word == entry.Source) ? Sources.First(row => row.Word == entry.Source).Source
                : throw new InputException($"The pulse's source is '{entry.Source}'; it is tracked, click or by-hand.");
            Beat[] beats = [.. entry.Beats.Select(beat => new Beat(AudioTime.FromSeconds(beat.T), beat.Bar, beat.Beat))];
            var pulse = new Pulse(Meter.Parse(entry.Meter), beats, entry.Confidence, source, [.. (entry.Meters ?? []).Select(change => new MeterChange(change.Bar, Meter.Parse(change.Meter)))]);
            return new Performance(pulse, [.. document.Hits.Select(ToHit)]);
        }
        catch (Exception e) when (e is ArgumentException or FormatException)
        {
            throw new InputException($"This study document cannot be used: {e.Message.ReplaceLineEndings(" ")}", e);
        }
    }

    public static (PulseEntry Pulse, IReadOnlyList<HitEntry> Hits) EntriesOf(Performance performance)
    {
        ArgumentNullException.ThrowIfNull(performance);
        Pulse pulse = performance.Pulse;
        var entry = new PulseEntry(
            pulse.Meter.ToString(),
            pulse.MeanTempo.Value,
            pulse.Confidence,
            [.. pulse.Beats.Select(beat => new BeatEntry(beat.Time.TotalSeconds, beat.Bar, beat.Number))],
            Sources.First(row => row.Source == pulse.Source).Word)
        {
            Meters = pulse.Changes.Count == 0 ? null : [.. pulse.Changes.Select(change => new MeterEntry(change.Bar, change.Meter.ToString()))],
        };
        return (entry, [.. performance.Hits.Select(hit => ToEntry(hit, pulse))]);
    }

    private static HitEntry ToEntry(Hit hit, Pulse pulse) => new(
        hit.Time.TotalSeconds,
        hit.Piece.Id(),
        hit.Velocity,
        hit.Level.Dbfs,
        hit.Confidence,
        hit.Position?.Bar,
        hit.Position?.Beat,
        hit.Position?.Within.ToString(),
        pulse.DeviationOf(hit)?.Milliseconds,
        [.. HitMarkWords.Of(hit.Marks)],
        hit.Ring?.Milliseconds);

    private static Hit ToHit(HitEntry entry)
    {
        HitMarks marks = HitMarks.None;
        foreach (string word in entry.Marks ?? [])
            marks |= HitMarkWords.Find(word);

        return new Hit(AudioTime.FromSeconds(entry.T), KitPieces.Parse(entry.Piece), entry.Velocity, Level.FromDbfs(entry.Level), entry.Confidence)
        {
            Marks = marks,
            Ring = entry.RingMs is { } ring ? Seconds.FromMilliseconds(ring) : null,
            Position = entry is { Bar: { } bar, Beat: { } beat, Position: { } within } ? new BarPosition(bar, beat, Fraction.Parse(within)) : null,
        };
    }
}
