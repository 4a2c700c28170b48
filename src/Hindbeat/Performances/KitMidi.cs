namespace Hindbeat.Performances;

/// <summary>What a MIDI file of an electronic kit holds.</summary>
/// <param name="Hits">Strokes sorted by time, then piece; times in seconds by the file's tempo map, no written positions yet.</param>
/// <param name="Grid">
/// The file's own beats: tick 0 is bar 1, beat 1, the tempo map is followed exactly at every beat, and the
/// last bar lies behind the last stroke. Of use only when <paramref name="HasTempo"/>.
/// </param>
/// <param name="HasTempo">
/// True when the file states a tempo. A file without one plays at 120 beats a minute (Standard MIDI Files 1.0),
/// which says nothing of the music: its pulse must be found in the strokes.
/// </param>
public sealed record KitMidi(IReadOnlyList<Hit> Hits, Pulse Grid, bool HasTempo, IReadOnlyList<Doubt> Doubts);

/// <summary>No note stands on the percussion channel, so another one was read.</summary>
/// <param name="Channel">The channel read, counted from 1.</param>
public sealed record DrumsOnAnotherChannel(int Channel) : Doubt
{
    public override string Text => FormattableString.Invariant($"The MIDI file has no notes on the percussion channel 10; channel {Channel} was read as the drum kit.");
}

/// <summary>Keys that no drum kit layout known here uses; their notes were left out.</summary>
public sealed record UnknownDrumKeys(IReadOnlyList<int> Keys, int Notes) : Doubt
{
    public override string Text => FormattableString.Invariant($"{Notes} notes were left out because their keys belong to no kit piece: {string.Join(", ", Keys)}.");

    public bool Equals(UnknownDrumKeys? other) => other is not null && Notes == other.Notes && Keys.SequenceEqual(other.Keys);

    public override int GetHashCode() => HashCode.Combine(Notes, Keys.Count);
}

/// <summary>The file changes its time signature; the grid keeps the first.</summary>
public sealed record SignatureChanges(Meter Kept, int Changes) : Doubt
{
    public override string Text => FormattableString.Invariant($"The MIDI file changes its time signature {Changes} {(Changes == 1 ? "time" : "times")}; bars are counted in {Kept} throughout, so study one section at a time.");
}
