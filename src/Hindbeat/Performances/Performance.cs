using Hindbeat.Units;

namespace Hindbeat.Performances;

/// <summary>
/// A passage as played: strokes and the pulse they are measured against. Plain data; everything that
/// measures, writes or rebuilds works from it alone.
/// </summary>
public sealed class Performance
{
    /// <param name="hits">Any order; kept sorted by time, then piece.</param>
    public Performance(Pulse pulse, IEnumerable<Hit> hits)
    {
        ArgumentNullException.ThrowIfNull(pulse);
        ArgumentNullException.ThrowIfNull(hits);
        Pulse = pulse;
        Hits = [.. hits.OrderBy(hit => hit.Time).ThenBy(hit => hit.Piece)];
    }

    public Pulse Pulse { get; }
    public Meter Meter => Pulse.Meter;

    /// <summary>Sorted by time.</summary>
    public IReadOnlyList<Hit> Hits { get; }

    /// <summary>Hits that have a written place, with how far they lie from it (positive = late).</summary>
    public IEnumerable<(Hit Hit, BarPosition Position, Seconds Deviation)> PlacedHits()
    {
        foreach (Hit hit in Hits)
        {
            if (hit.Position is { } position)
                yield return (hit, position, hit.Time - Pulse.TimeAt(position));
        }
    }
}
