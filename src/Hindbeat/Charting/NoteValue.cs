using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>
/// A written note value: a whole note halved <see cref="Halvings"/> times (0 whole, 2 quarter, 3 eighth),
/// with up to two dots. A value says what is printed; inside a tuplet the sounding length is shorter.
/// </summary>
public readonly record struct NoteValue
{
    /// <summary>The shortest value written: a 256th.</summary>
    public const int MostHalvings = 8;

    /// <exception cref="ArgumentOutOfRangeException">Halvings outside 0 to 8 or dots outside 0 to 2.</exception>
    public NoteValue(int halvings, int dots = 0)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(halvings);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(halvings, MostHalvings);
        ArgumentOutOfRangeException.ThrowIfNegative(dots);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(dots, 2);
        Halvings = halvings;
        Dots = dots;
    }

    public int Halvings { get; }
    public int Dots { get; }

    /// <summary>Beams or flags: 1 for an eighth, 2 for a 16th, 0 for a quarter and longer.</summary>
    public int Flags => Math.Max(0, Halvings - 2);

    /// <summary>Printed length as a share of a whole note: (2 − 2^−dots) / 2^halvings.</summary>
    public Fraction Length => new((1L << (Dots + 1)) - 1, 1L << (Halvings + Dots));

    /// <summary>The longest value, with at most <paramref name="mostDots"/> dots, that fits into a length; null when even a 256th is longer.</summary>
    public static NoteValue? LongestWithin(Fraction length, int mostDots = 1)
    {
        for (int halvings = 0; halvings <= MostHalvings; halvings++)
        {
            for (int dots = mostDots; dots >= 0; dots--)
            {
                var value = new NoteValue(halvings, dots);
                if (value.Length <= length && halvings + dots <= MostHalvings)
                    return value;
            }
        }

        return null;
    }

    /// <summary>The value that is exactly this long (at most one dot), or null.</summary>
    public static NoteValue? Exactly(Fraction length) =>
        LongestWithin(length) is { } value && value.Length == length ? value : null;

    public override string ToString() => $"1/{1 << Halvings}{new string('.', Dots)}";
}
