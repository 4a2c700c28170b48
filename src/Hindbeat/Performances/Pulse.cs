using Hindbeat.Units;

namespace Hindbeat.Performances;

/// <summary>Where a pulse comes from. It decides which figures can be known ("the whole kit late" needs a click).</summary>
public enum PulseSource
{
    /// <summary>Found in the hits and the sound: a curve fitted to the drumming itself.</summary>
    Tracked,

    /// <summary>A steady click: the recording's, or a MIDI file's own grid.</summary>
    Click,

    /// <summary>Typed, tapped or corrected by a person.</summary>
    ByHand,
}

/// <summary>One beat of the pulse.</summary>
/// <param name="Time">When it falls.</param>
/// <param name="Bar">Bar number; 1 is the first whole bar, 0 and below are before it.</param>
/// <param name="Number">Beat in the bar, from 1.</param>
public readonly record struct Beat(AudioTime Time, int Bar, int Number);

/// <summary>From this bar on the passage is counted in another meter.</summary>
public readonly record struct MeterChange(int Bar, Meter Meter);

/// <summary>
/// The beats of a passage: what "late" is late against. Beats are consecutive, strictly increasing in
/// time, and numbered without gaps. Between two beats time runs evenly; before the first and after the
/// last it goes on at the outermost beat's length.
/// </summary>
public sealed class Pulse
{
    private readonly Beat[] _beats;
    private readonly MeterChange[] _changes;

    /// <summary>Stretches of one meter: their first bar, and the beats from the pulse's first beat to it. The first one's bar may lie before the pulse.</summary>
    private readonly (int Bar, long Beats, Meter Meter)[] _stretches;

    /// <param name="beats">At least two, consecutive, strictly increasing in time.</param>
    /// <param name="confidence">Probability in [0, 1] that tempo octave, phase and meter are right.</param>
    /// <param name="changes">Changes of meter within the passage, in order; every other stretch counts in <paramref name="meter"/>.</param>
    /// <exception cref="ArgumentException">Fewer than two beats, times that do not increase, or numbers with a gap.</exception>
    public Pulse(Meter meter, IReadOnlyList<Beat> beats, double confidence = 1.0, PulseSource source = PulseSource.Tracked, IReadOnlyList<MeterChange>? changes = null)
    {
        ArgumentNullException.ThrowIfNull(beats);
        if (beats.Count < 2)
            throw new ArgumentException($"A pulse needs at least two beats; there {(beats.Count == 1 ? "is one" : "are none")}.", nameof(beats));
        Meter = meter;
        _changes = [.. changes ?? []];
        _stretches = Stretches(meter, beats[0], _changes);
        for (int i = 1; i < beats.Count; i++)
        {
            if (beats[i].Time <= beats[i - 1].Time)
                throw new ArgumentException($"Beat {i} at {beats[i].Time} does not come after the beat before it at {beats[i - 1].Time}.", nameof(beats));
            (int bar, int number) = Next(beats[i - 1]);
            if (beats[i].Bar != bar || beats[i].Number != number)
                throw new ArgumentException($"Beat {i} is numbered bar {beats[i].Bar}, beat {beats[i].Number}; after bar {beats[i - 1].Bar}, beat {beats[i - 1].Number} of {MeterAt(beats[i - 1].Bar)} comes bar {bar}, beat {number}.", nameof(beats));
        }

        _beats = [.. beats];
        Confidence = confidence;
        Source = source;
    }

    /// <summary>The meter that the passage begins in.</summary>
    public Meter Meter { get; }

    /// <summary>Where the meter changes, in order; empty as a rule.</summary>
    public IReadOnlyList<MeterChange> Changes => _changes;

    public IReadOnlyList<Beat> Beats => _beats;
    public double Confidence { get; }
    public PulseSource Source { get; }

    /// <summary>Mean tempo from first to last beat.</summary>
    public Bpm MeanTempo => Bpm.FromBeat((_beats[^1].Time - _beats[0].Time) / (_beats.Length - 1));

    public int FirstBar => _beats[0].Bar;
    public int LastBar => _beats[^1].Bar;

    /// <summary>A steady pulse: beat 1 of <paramref name="firstBar"/> falls at <paramref name="start"/>.</summary>
    public static Pulse Steady(Meter meter, Bpm tempo, AudioTime start, int beats, int firstBar = 1, PulseSource source = PulseSource.Click)
    {
        var list = new Beat[beats];
        for (int i = 0; i < beats; i++)
            list[i] = new Beat(start + (tempo.Beat * i), firstBar + (i / meter.BeatsPerBar), 1 + (i % meter.BeatsPerBar));
        return new Pulse(meter, list, 1.0, source);
    }

    /// <summary>Beats from the pulse's first beat to a written place, exact; negative before it.</summary>
    public Fraction BeatsFromFirst(BarPosition position)
    {
        int s = _stretches.Length - 1;
        while (s > 0 && _stretches[s].Bar > position.Bar)
            s--;
        long toBar = _stretches[s].Beats + ((long)(position.Bar - _stretches[s].Bar) * _stretches[s].Meter.BeatsPerBar);
        return new Fraction(toBar + position.Beat - 1) + position.Within;
    }

    /// <summary>The meter that a bar is counted in.</summary>
    public Meter MeterAt(int bar)
    {
        Meter meter = Meter;
        foreach (MeterChange change in _changes)
        {
            if (change.Bar <= bar)
                meter = change.Meter;
        }

        return meter;
    }

    /// <summary>The written place that lies a number of beats after the pulse's first beat.</summary>
    public BarPosition PositionAt(Fraction beatsFromFirst)
    {
        long whole = beatsFromFirst.Floor();
        int s = _stretches.Length - 1;
        while (s > 0 && _stretches[s].Beats > whole)
            s--;
        int perBar = _stretches[s].Meter.BeatsPerBar;
        long bar = Math.DivRem(whole - _stretches[s].Beats, perBar, out long beat);
        if (beat < 0)
        {
            bar--;
            beat += perBar;
        }

        return new BarPosition((int)(_stretches[s].Bar + bar), (int)beat + 1, beatsFromFirst - new Fraction(whole));
    }

    /// <summary>When a written place falls on this pulse.</summary>
    public AudioTime TimeAt(BarPosition position) => TimeAt(BeatsFromFirst(position).ToDouble());

    /// <summary>When a (fractional) number of beats after the first beat falls.</summary>
    public AudioTime TimeAt(double beatsFromFirst)
    {
        int left = Math.Clamp((int)Math.Floor(beatsFromFirst), 0, _beats.Length - 2);
        Seconds length = _beats[left + 1].Time - _beats[left].Time;
        return _beats[left].Time + (length * (beatsFromFirst - left));
    }

    /// <summary>How many beats (fractional) after the first beat a moment lies; the inverse of <see cref="TimeAt(double)"/>.</summary>
    public double BeatsAt(AudioTime time)
    {
        int left = IntervalAt(time);
        return left + ((time - _beats[left].Time) / (_beats[left + 1].Time - _beats[left].Time));
    }

    /// <summary>The length of the beat that a moment falls into.</summary>
    public Seconds BeatLengthAt(AudioTime time)
    {
        int left = IntervalAt(time);
        return _beats[left + 1].Time - _beats[left].Time;
    }

    /// <summary>Played − written, positive = late; null for a hit that has no written place.</summary>
    public Seconds? DeviationOf(Hit hit) => hit.Position is { } position ? hit.Time - TimeAt(position) : null;

    private int IntervalAt(AudioTime time)
    {
        int low = 0;
        int high = _beats.Length - 2;
        while (low < high)
        {
            int middle = (low + high + 1) / 2;
            if (_beats[middle].Time <= time)
                low = middle;
            else
                high = middle - 1;
        }

        return low;
    }

    private (int Bar, int Number) Next(Beat beat) =>
        beat.Number >= MeterAt(beat.Bar).BeatsPerBar ? (beat.Bar + 1, 1) : (beat.Bar, beat.Number + 1);

    private static (int Bar, long Beats, Meter Meter)[] Stretches(Meter meter, Beat first, MeterChange[] changes)
    {
        var stretches = new (int Bar, long Beats, Meter Meter)[changes.Length + 1];
        stretches[0] = (first.Bar, 1 - first.Number, meter);
        for (int i = 0; i < changes.Length; i++)
        {
            (int bar, long beats, Meter before) = stretches[i];
            if (changes[i].Bar <= bar)
                throw new ArgumentException($"The meter changes at bar {changes[i].Bar}, which does not come after bar {bar}.", nameof(changes));
            stretches[i + 1] = (changes[i].Bar, beats + ((long)(changes[i].Bar - bar) * before.BeatsPerBar), changes[i].Meter);
        }

        return stretches;
    }
}
