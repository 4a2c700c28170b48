namespace Hindbeat.Performances;

/// <summary>
/// Ticks to seconds by a file's set-tempo events (Standard MIDI Files 1.0): t = Σ ticks · µs / (10⁶ · division)
/// over the stretches between events.
/// </summary>
/// <remarks>Kept as double seconds throughout: one tick of 1/480 quarter at 120 bpm is 1.04 ms, the size of what is measured.</remarks>
internal sealed class KitMidiTempoMap
{
    /// <summary>Standard MIDI Files 1.0: a file without a tempo plays at 120 quarter notes a minute.</summary>
    private const double DefaultMicroseconds = 500_000;

    private readonly List<(long Tick, double Seconds, double SecondsPerTick)> _stretches = [];

    /// <param name="division">Ticks a quarter note, at least 1.</param>
    /// <param name="tempos">Tick and microseconds a quarter note, any order; of several at one tick the last counts.</param>
    public KitMidiTempoMap(int division, IEnumerable<(long Tick, int Microseconds)> tempos)
    {
        _stretches.Add((0, 0, DefaultMicroseconds / 1e6 / division));
        foreach ((long tick, int microseconds) in tempos.OrderBy(tempo => tempo.Tick))
        {
            double secondsPerTick = microseconds / 1e6 / division;
            if (tick == _stretches[^1].Tick)
                _stretches[^1] = (tick, _stretches[^1].Seconds, secondsPerTick);
            else
                _stretches.Add((tick, SecondsAt(tick), secondsPerTick));
        }
    }

    /// <summary>Seconds from tick 0 to a (fractional) tick.</summary>
    public double SecondsAt(double tick)
    {
        int low = 0;
        int high = _stretches.Count - 1;
        while (low < high)
        {
            int middle = (low + high + 1) / 2;
            if (_stretches[middle].Tick <= tick)
                low = middle;
            else
                high = middle - 1;
        }

        (long start, double seconds, double secondsPerTick) = _stretches[low];
        return seconds + ((tick - start) * secondsPerTick);
    }
}
