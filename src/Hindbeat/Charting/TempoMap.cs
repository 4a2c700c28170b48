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

    public required IReadOnlyList<(long Tick, double MicrosecondsPerQuarter)> Tempos { get; init; }

    /// <summary>Tick of each hit, in the performance's order.</summary>
    public required IReadOnlyList<long> HitTicks { get; init; }

    public required long EndTick { get; init; }

    public static TempoMap Of(Performance performance)
    {
        Pulse pulse = performance.Pulse;
        double ticksPerBeat = pulse.Meter.BeatLength.ToDouble() * 4.0 * ChartMidi.TicksPerQuarter;

        // Beat numbers are counted from the pulse's first beat. The file starts with the beats between the
        // recording's start and the next bar line; the first of them is as long or short as it happens to be.
        double zero = pulse.BeatsAt(AudioTime.Zero);
        int toBarLine = 1 - pulse.Beats[0].Number;
        int barLine = toBarLine + (pulse.Meter.BeatsPerBar * (int)Math.Ceiling((zero - toBarLine - 1e-9) / pulse.Meter.BeatsPerBar));
        int leadBeats = Math.Max(0, (int)Math.Round(barLine - zero));
        if (leadBeats == 0 && barLine - zero > 1e-9)
            leadBeats = 1;
        int firstBeat = barLine - leadBeats;

        double lastTime = performance.Hits.Count == 0 ? 0 : performance.Hits[^1].Time.TotalSeconds;
        int lastBeat = Math.Max(pulse.Beats.Count, (int)Math.Ceiling(pulse.BeatsAt(AudioTime.FromSeconds(lastTime))) + 1);
        var anchors = new List<(long Tick, double Time)> { (0, 0.0) };
        for (int beat = firstBeat + 1; beat <= lastBeat; beat++)
        {
            double time = pulse.TimeAt((double)beat).TotalSeconds;
            if (time > anchors[^1].Time)
                anchors.Add(((long)Math.Round((beat - firstBeat) * ticksPerBeat), time));
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
            LeadIn = pulse.Meter.BeatLength * leadBeats,
            Tempos = TemposOf(anchors),
            HitTicks = hitTicks,
            EndTick = anchors[^1].Tick,
        };
    }

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
