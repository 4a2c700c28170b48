using System.Globalization;

namespace Hindbeat.Units;

/// <summary>
/// An exact fraction, always in lowest terms with a positive denominator. Written positions and note
/// lengths are fractions so that a triplet is a triplet after any number of steps.
/// </summary>
/// <remarks><c>default</c> is zero. Arithmetic is checked: an overflow throws.</remarks>
public readonly record struct Fraction : IComparable<Fraction>
{
    private readonly long _denominatorMinusOne;

    public Fraction(long numerator, long denominator = 1)
    {
        if (denominator == 0)
            throw new DivideByZeroException("A fraction cannot have the denominator 0.");
        if (denominator < 0)
            (numerator, denominator) = (checked(-numerator), checked(-denominator));
        long divisor = GreatestCommonDivisor(Math.Abs(numerator), denominator);
        Numerator = numerator / divisor;
        _denominatorMinusOne = (denominator / divisor) - 1;
    }

    public long Numerator { get; }

    /// <summary>Always 1 or more.</summary>
    public long Denominator => _denominatorMinusOne + 1;

    public static Fraction Zero => default;
    public static Fraction One => new(1);

    public double ToDouble() => (double)Numerator / Denominator;

    /// <summary>The largest whole number not above this fraction.</summary>
    public long Floor() => Numerator >= 0 || Numerator % Denominator == 0
        ? Numerator / Denominator
        : (Numerator / Denominator) - 1;

    /// <summary>Reads "3/4" or "2".</summary>
    /// <exception cref="FormatException">The text is not a fraction.</exception>
    public static Fraction Parse(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        int slash = text.IndexOf('/', StringComparison.Ordinal);
        string top = slash < 0 ? text : text[..slash];
        string bottom = slash < 0 ? "1" : text[(slash + 1)..];
        if (!long.TryParse(top, NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out long numerator)
            || !long.TryParse(bottom, NumberStyles.None, CultureInfo.InvariantCulture, out long denominator)
            || denominator == 0)
            throw new FormatException($"'{text}' is not a fraction; write it like 3/4.");
        return new Fraction(numerator, denominator);
    }

    /// <summary>The nearest multiple of 1/<paramref name="divisions"/>; halves go up.</summary>
    public static Fraction Nearest(double value, int divisions) =>
        new((long)Math.Floor((value * divisions) + 0.5), divisions);

    public static implicit operator Fraction(int whole) => new(whole);

    public static Fraction FromInt32(int whole) => new(whole);

    public static Fraction operator +(Fraction a, Fraction b) =>
        new(checked((a.Numerator * b.Denominator) + (b.Numerator * a.Denominator)), checked(a.Denominator * b.Denominator));

    public static Fraction operator -(Fraction a, Fraction b) =>
        new(checked((a.Numerator * b.Denominator) - (b.Numerator * a.Denominator)), checked(a.Denominator * b.Denominator));

    public static Fraction operator -(Fraction a) => new(-a.Numerator, a.Denominator);

    public static Fraction operator *(Fraction a, Fraction b) =>
        new(checked(a.Numerator * b.Numerator), checked(a.Denominator * b.Denominator));

    public static Fraction operator /(Fraction a, Fraction b) =>
        new(checked(a.Numerator * b.Denominator), checked(a.Denominator * b.Numerator));

    public static bool operator <(Fraction a, Fraction b) => a.CompareTo(b) < 0;
    public static bool operator >(Fraction a, Fraction b) => a.CompareTo(b) > 0;
    public static bool operator <=(Fraction a, Fraction b) => a.CompareTo(b) <= 0;
    public static bool operator >=(Fraction a, Fraction b) => a.CompareTo(b) >= 0;

    public static Fraction Add(Fraction a, Fraction b) => a + b;
    public static Fraction Subtract(Fraction a, Fraction b) => a - b;
    public static Fraction Negate(Fraction a) => -a;
    public static Fraction Multiply(Fraction a, Fraction b) => a * b;
    public static Fraction Divide(Fraction a, Fraction b) => a / b;

    public int CompareTo(Fraction other) =>
        ((Int128)Numerator * other.Denominator).CompareTo((Int128)other.Numerator * Denominator);

    public override string ToString() => Denominator == 1
        ? Numerator.ToString(CultureInfo.InvariantCulture)
        : string.Create(CultureInfo.InvariantCulture, $"{Numerator}/{Denominator}");

    private static long GreatestCommonDivisor(long a, long b)
    {
        while (b != 0)
            (a, b) = (b, a % b);
        return a == 0 ? 1 : a;
    }
}
