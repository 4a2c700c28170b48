using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>
/// Ticks and tempos for a performance as played. Anchors (tick, time) are the beats of the pulse; where a
/// tick is so long (below about 70 quarters a minute) that rounding to it could move a hit by more than
/// <see cref="Tolerance"/>, the hits are anchors too. Between anchors the tempo is steady, rounded to
/// whole microseconds with the rounding carried on so that it never adds up.
/// </summary>
internal sealed class TempoMap
{
    /// <summary>Seconds; a little less than the 0.5 ms that the file promises, for the rounding of the tempos.</summary>
    private const double Tolerance = 0.00045;

    private const double MostMicroseconds = 16_777_215;

    private TempoMap()
    {
    }

    /// <summary>Written length before the first whole bar line at or after the recording's start, as a share of a whole note.</summary>
    public required Fraction LeadIn { get; init; }

    /// <summary>The meter at the first whole bar line, and where it changes.</summary>
    public required IReadOnlyList<(long Tick, Meter Meter)> Signatures { get; init; }

    public required IReadOnlyList<(long Tick, double MicrosecondsPerQuarter)> Tempos { get; init; }

    /// <summary>Tick of each hit, in the performance's order.</summary>
    public required IReadOnlyList<long> HitTicks { get; init; }

    public required long EndTick { get; init; }

    public static TempoMap Of(Performance performance)
    {
        Pulse pulse = performance.Pulse;
        // Beat numbers are counted from the pulse's first beat. The file starts with the beats between the
        // recording's start and the next bar line; the first of them is as long or short as it happens to be.
        double zero = pulse.BeatsAt(AudioTime.Zero);
        int barLine = NextBarLine(pulse, zero);
        int leadBeats = Math.Max(0, (int)Math.Round(barLine - zero));
        if (leadBeats == 0 && barLine - zero > 1e-9)
            leadBeats = 1;
        int firstBeat = barLine - leadBeats;

        double lastTime = performance.Hits.Count == 0 ? 0 : performance.Hits[^1].Time.TotalSeconds;
        int lastBeat = Math.Max(pulse.Beats.Count, (int)Math.Ceiling(pulse.BeatsAt(AudioTime.FromSeconds(lastTime))) + 1);
        var anchors = new List<(long Tick, double Time)> { (0, 0.0) };
        var signatures = new List<(long Tick, Meter Meter)>();
        Fraction written = Fraction.Zero;
        for (int beat = firstBeat; beat <= lastBeat; beat++)
        {
            BarPosition place = pulse.PositionAt(beat);
            Meter meter = pulse.MeterAt(place.Bar);
            if (beat >= barLine && place.Beat == 1 && (signatures.Count == 0 || signatures[^1].Meter != meter))
                signatures.Add((ChartMidi.Ticks(written), meter));
            double time = pulse.TimeAt((double)beat).TotalSeconds;
            if (beat > firstBeat && time > anchors[^1].Time)
                anchors.Add((ChartMidi.Ticks(written), time));
            written += meter.BeatLength;
        }

        var hitTicks = new long[performance.Hits.Count];
        bool anchorHits = Enumerable.Range(1, anchors.Count - 1).Max(i => SecondsPerTick(anchors[i - 1], anchors[i])) > 2 * Tolerance;
        int next = 1;
        for (int i = 0; i < hitTicks.Length; i++)
        {
            double time = performance.Hits[i].Time.TotalSeconds;
            while (next < anchors.Count - 1 && anchors[next].Time <= time)
                next++;
            hitTicks[i] = TickFor(anchors, ref next, time, anchorHits);
        }

        return new TempoMap
        {
            LeadIn = LeadLength(pulse, firstBeat, leadBeats),
            Signatures = signatures,
            Tempos = TemposOf(anchors),
            HitTicks = hitTicks,
            EndTick = anchors[^1].Tick,
        };
    }

    /// <summary>The first beat at or after a place that begins a bar, in beats from the pulse's first.</summary>
    private static int NextBarLine(Pulse pulse, double from)
    {
        int beat = (int)Math.Ceiling(from - 1e-9);
        while (pulse.PositionAt(beat).Beat != 1)
            beat++;
        return beat;
    }

    private static Fraction LeadLength(Pulse pulse, int firstBeat, int beats) =>
        Enumerable.Range(firstBeat, beats).Aggregate(Fraction.Zero, (sum, beat) => sum + pulse.MeterAt(pulse.PositionAt(beat).Bar).BeatLength);

    /// <summary>The tick for a time between the anchors before and at <paramref name="next"/>, which may become an anchor itself.</summary>
    private static long TickFor(List<(long Tick, double Time)> anchors, ref int next, double time, bool anchor)
    {
        (long leftTick, double leftTime) = anchors[next - 1];
        (long rightTick, double rightTime) = anchors[next];
        double exact = leftTick + ((time - leftTime) / SecondsPerTick(anchors[next - 1], anchors[next]));
        long tick = Math.Clamp((long)Math.Round(exact), leftTick, rightTick);
        if (!anchor)
            return tick;
        if (time - leftTime <= Tolerance)
            return leftTick;
        if (rightTime - time <= Tolerance)
            return rightTick;
        if (rightTick - leftTick < 2)
            return tick;
        tick = Math.Clamp(tick, leftTick + 1, rightTick - 1);
        anchors.Insert(next, (tick, time));
        next++;
        return tick;
    }

    private static double SecondsPerTick((long Tick, double Time) left, (long Tick, double Time) right) =>
        (right.Time - left.Time) / (right.Tick - left.Tick);

    private static List<(long Tick, double MicrosecondsPerQuarter)> TemposOf(List<(long Tick, double Time)> anchors)
    {
        var tempos = new List<(long, double)>(anchors.Count);
        double written = 0;
        for (int i = 0; i + 1 < anchors.Count; i++)
        {
            long ticks = anchors[i + 1].Tick - anchors[i].Tick;
            double wanted = (anchors[i + 1].Time - written) * 1e6 / ticks * ChartMidi.TicksPerQuarter;
            double whole = Math.Clamp(Math.Round(wanted), 1, MostMicroseconds);
            tempos.Add((anchors[i].Tick, whole));
            written += whole * ticks / ChartMidi.TicksPerQuarter / 1e6;
        }

        return tempos;
    }
}
