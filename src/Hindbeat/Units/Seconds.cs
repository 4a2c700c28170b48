namespace Hindbeat.Units;

/// <summary>
/// A signed length of time. As a deviation it is played − reference: <b>positive means late</b>.
/// </summary>
/// <remarks>Finite always; <c>default</c> is no time at all.</remarks>
public readonly record struct Seconds : IComparable<Seconds>
{
    private Seconds(double value) => Value = value;

    /// <summary>The length in seconds.</summary>
    public double Value { get; }

    /// <summary>The length in milliseconds.</summary>
    public double Milliseconds => Value * 1000.0;

    public static Seconds Zero => default;

    /// <exception cref="ArgumentOutOfRangeException">The value is NaN or infinite.</exception>
    public static Seconds Of(double seconds) =>
        double.IsFinite(seconds)
            ? new Seconds(seconds)
            : throw new ArgumentOutOfRangeException(nameof(seconds), seconds, "A length of time must be a finite number of seconds.");

    public static Seconds FromMilliseconds(double milliseconds) => Of(milliseconds / 1000.0);

    public Seconds Abs() => new(Math.Abs(Value));

    public static Seconds operator +(Seconds a, Seconds b) => Of(a.Value + b.Value);
    public static Seconds operator -(Seconds a, Seconds b) => Of(a.Value - b.Value);
    public static Seconds operator -(Seconds a) => new(-a.Value);
    public static Seconds operator *(Seconds a, double factor) => Of(a.Value * factor);
    public static Seconds operator *(double factor, Seconds a) => Of(a.Value * factor);
    public static Seconds operator /(Seconds a, double divisor) => Of(a.Value / divisor);
    public static double operator /(Seconds a, Seconds b) => a.Value / b.Value;
    public static bool operator <(Seconds a, Seconds b) => a.Value < b.Value;
    public static bool operator >(Seconds a, Seconds b) => a.Value > b.Value;
    public static bool operator <=(Seconds a, Seconds b) => a.Value <= b.Value;
    public static bool operator >=(Seconds a, Seconds b) => a.Value >= b.Value;

    public static Seconds Add(Seconds a, Seconds b) => a + b;
    public static Seconds Subtract(Seconds a, Seconds b) => a - b;
    public static Seconds Negate(Seconds a) => -a;
    public static Seconds Multiply(Seconds a, double factor) => a * factor;
    public static Seconds Divide(Seconds a, double divisor) => a / divisor;

    public int CompareTo(Seconds other) => Value.CompareTo(other.Value);

    public override string ToString() => FormattableString.Invariant($"{Milliseconds:+0.0;-0.0;0.0} ms");
}
