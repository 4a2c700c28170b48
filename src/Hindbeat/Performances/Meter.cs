using System.Globalization;
using Hindbeat.Units;

namespace Hindbeat.Performances;

/// <summary>
/// A time signature and the beat that is counted in it. Compound signatures (6/8, 9/8, 12/8) are
/// counted in dotted quarters, all others in their denominator: 4/4 has 4 beats, 6/8 has 2, 7/8 has 7.
/// </summary>
public readonly record struct Meter
{
    /// <exception cref="ArgumentOutOfRangeException">Numerator outside 1 to 32, or denominator not 2, 4, 8 or 16.</exception>
    public Meter(int numerator, int denominator)
    {
        if (numerator is < 1 or > 32)
            throw new ArgumentOutOfRangeException(nameof(numerator), numerator, "A bar has 1 to 32 counts.");
        if (denominator is not (2 or 4 or 8 or 16))
            throw new ArgumentOutOfRangeException(nameof(denominator), denominator, "A time signature's lower number is 2, 4, 8 or 16.");
        Numerator = numerator;
        Denominator = denominator;
    }

    public int Numerator { get; }
    public int Denominator { get; }

    public static Meter FourFour => new(4, 4);

    /// <summary>True for 6/8, 9/8, 12/8 and their sixteenth relatives.</summary>
    public bool IsCompound => Denominator >= 8 && Numerator >= 6 && Numerator % 3 == 0;

    public int BeatsPerBar => IsCompound ? Numerator / 3 : Numerator;

    /// <summary>The counted beat as a share of a whole note: 1/4 in 4/4, 3/8 in 6/8.</summary>
    public Fraction BeatLength => new(IsCompound ? 3 : 1, Denominator);

    /// <summary>Reads "4/4", "6/8".</summary>
    /// <exception cref="FormatException">Not a time signature.</exception>
    public static Meter Parse(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        string[] parts = text.Split('/');
        if (parts.Length == 2
            && int.TryParse(parts[0], NumberStyles.None, CultureInfo.InvariantCulture, out int numerator)
            && int.TryParse(parts[1], NumberStyles.None, CultureInfo.InvariantCulture, out int denominator)
            && numerator is >= 1 and <= 32 && denominator is 2 or 4 or 8 or 16)
            return new Meter(numerator, denominator);
        throw new FormatException($"'{text}' is not a time signature; write it like 4/4 or 6/8.");
    }

    public override string ToString() => string.Create(CultureInfo.InvariantCulture, $"{Numerator}/{Denominator}");
}
