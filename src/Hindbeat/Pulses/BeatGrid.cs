using Hindbeat.Units;

namespace Hindbeat.Pulses;

/// <summary>One way to divide a beat: its written places, and where they sound when pairs swing.</summary>
internal sealed class BeatGrid
{
    private BeatGrid(int parts, double prior, int swingLevel)
    {
        Parts = parts;
        LogPrior = prior;
        _swingLevel = swingLevel;
        Written = [.. Enumerable.Range(0, parts + 1).Select(i => new Fraction(i, parts))];
    }

    /// <summary>0: places never swing; 2: halves swing; 4: halves and quarters swing.</summary>
    private readonly int _swingLevel;

    public int Parts { get; }

    /// <summary>ln of how usual this division is before the passage is known (our judgement; the passage corrects it).</summary>
    public double LogPrior { get; }

    /// <summary>0, 1/n, ... 1; the last is the next beat's first.</summary>
    public Fraction[] Written { get; }

    /// <summary>Of a beat that divides in two: eighths, sixteenths, triplets, sextuplets, thirty-seconds.</summary>
    public static IReadOnlyList<BeatGrid> Simple { get; } =
        [new(2, 0, 2), new(4, -0.3, 4), new(3, -2.5, 0), new(6, -4, 0), new(8, -4, 0)];

    /// <summary>Of a beat that divides in three: eighths, sixteenths, duplets, quadruplets, thirty-seconds.</summary>
    public static IReadOnlyList<BeatGrid> Compound { get; } =
        [new(3, 0, 0), new(6, -0.3, 0), new(2, -4, 0), new(4, -4.5, 0), new(12, -4.5, 0)];

    /// <summary>Where place <paramref name="index"/> sounds, in beats.</summary>
    public double SoundingAt(int index, SwingShape swing)
    {
        if (_swingLevel == 2)
            return index == 1 ? swing.Half : index / 2.0;
        if (_swingLevel == 4)
        {
            return index switch
            {
                1 => swing.Half * swing.Quarter,
                2 => swing.Half,
                3 => swing.Half + ((1 - swing.Half) * swing.Quarter),
                _ => index / 4.0,
            };
        }

        return (double)index / Parts;
    }
}

/// <summary>
/// How pairs swing over a passage, as the long note's share of the pair: 0.5 straight, 2/3 = 2:1.
/// </summary>
/// <param name="Half">Share of the first of two eighths of a beat.</param>
/// <param name="Quarter">Share of the first of two sixteenths of a half beat.</param>
internal readonly record struct SwingShape(double Half, double Quarter)
{
    public static SwingShape Straight => new(0.5, 0.5);
}
