namespace Hindbeat.Units;

/// <summary>
/// A moment in a recording, in seconds from its first sample. It is a place, not a length: the
/// difference of two moments is a <see cref="Seconds"/>.
/// </summary>
/// <remarks>
/// Finite always; negative values are allowed (a count-in may start before the recording does).
/// <c>default</c> is the first sample.
/// </remarks>
public readonly record struct AudioTime : IComparable<AudioTime>
{
    private AudioTime(double totalSeconds) => TotalSeconds = totalSeconds;

    /// <summary>Seconds from the recording's first sample.</summary>
    public double TotalSeconds { get; }

    /// <summary>The first sample of the recording.</summary>
    public static AudioTime Zero => default;

    /// <exception cref="ArgumentOutOfRangeException">The value is NaN or infinite.</exception>
    public static AudioTime FromSeconds(double seconds) =>
        double.IsFinite(seconds)
            ? new AudioTime(seconds)
            : throw new ArgumentOutOfRangeException(nameof(seconds), seconds, "A moment in a recording must be a finite number of seconds.");

    /// <summary>The moment of a sample (zero-based) at a sample rate in hertz.</summary>
    public static AudioTime FromSample(double sample, int sampleRate) => FromSeconds(sample / sampleRate);

    /// <summary>The (fractional, zero-based) sample at this moment.</summary>
    public double ToSample(int sampleRate) => TotalSeconds * sampleRate;

    public static Seconds operator -(AudioTime later, AudioTime earlier) => Seconds.Of(later.TotalSeconds - earlier.TotalSeconds);
    public static AudioTime operator +(AudioTime time, Seconds length) => FromSeconds(time.TotalSeconds + length.Value);
    public static AudioTime operator -(AudioTime time, Seconds length) => FromSeconds(time.TotalSeconds - length.Value);
    public static bool operator <(AudioTime a, AudioTime b) => a.TotalSeconds < b.TotalSeconds;
    public static bool operator >(AudioTime a, AudioTime b) => a.TotalSeconds > b.TotalSeconds;
    public static bool operator <=(AudioTime a, AudioTime b) => a.TotalSeconds <= b.TotalSeconds;
    public static bool operator >=(AudioTime a, AudioTime b) => a.TotalSeconds >= b.TotalSeconds;

    public static Seconds Subtract(AudioTime later, AudioTime earlier) => later - earlier;
    public static AudioTime Add(AudioTime time, Seconds length) => time + length;

    public int CompareTo(AudioTime other) => TotalSeconds.CompareTo(other.TotalSeconds);

    public override string ToString() => FormattableString.Invariant($"{TotalSeconds:0.0000} s");
}
