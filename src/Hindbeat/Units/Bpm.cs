namespace Hindbeat.Units;

/// <summary>A tempo in beats a minute; the beat is the one the meter counts (see the meter's beat length).</summary>
/// <remarks>Positive and finite. <c>default</c> is not a tempo and throws when its beat is asked for.</remarks>
public readonly record struct Bpm
{
    private Bpm(double value) => Value = value;

    /// <summary>Beats a minute.</summary>
    public double Value { get; }

    /// <exception cref="ArgumentOutOfRangeException">Not a positive finite number.</exception>
    public static Bpm Of(double beatsPerMinute) =>
        double.IsFinite(beatsPerMinute) && beatsPerMinute > 0
            ? new Bpm(beatsPerMinute)
            : throw new ArgumentOutOfRangeException(nameof(beatsPerMinute), beatsPerMinute, "A tempo must be a positive number of beats a minute.");

    public static Bpm FromBeat(Seconds beat) => Of(60.0 / beat.Value);

    /// <summary>How long one beat lasts.</summary>
    public Seconds Beat => Value > 0 ? Seconds.Of(60.0 / Value) : throw new InvalidOperationException("This tempo was never set.");

    public override string ToString() => FormattableString.Invariant($"{Value:0.##} bpm");
}
