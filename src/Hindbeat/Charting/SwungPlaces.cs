using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>
/// Writes the pairs of a swung passage alike: a pair that a pulse placed as long and short of a triplet (0 and
/// 2/3) becomes two equal notes (0 and 1/2), or on request every pair long and short (2/3, or 3/4 dotted). A pair in which the middle triplet (1/3) is struck as well is a
/// real triplet.
/// </summary>
internal static class SwungPlaces
{
    private static readonly Fraction Short = new(2, 3);
    private static readonly Fraction Middle = new(1, 3);

    public static List<Placed> Write(Pulse pulse, SwingLevel level, SwingWriting writing, IReadOnlyList<Placed> strokes)
    {
        Fraction even = new(1, 2);
        Fraction off = writing switch
        {
            SwingWriting.Triplet => Short,
            SwingWriting.Dotted => new(3, 4),
            _ => even,
        };
        Fraction pair = level == SwingLevel.Eighth ? new Fraction(1, 4) : new Fraction(1, 8);
        var result = new List<Placed>(strokes.Count);
        foreach (var together in strokes.GroupBy(stroke => (stroke.Bar, Pair: (stroke.At / pair).Floor())))
        {
            Fraction start = pair * new Fraction(together.Key.Pair);
            Meter meter = pulse.MeterAt(together.Key.Bar);
            bool fits = !meter.IsCompound && meter.BeatLength >= pair;
            bool isSwungPair = fits && together.All(stroke => stroke.At == start || stroke.At == start + (pair * Short)
                || (off != even && stroke.At == start + (pair * even)));
            // Beside a struck middle triplet the even place sounds on the last triplet, and is written there.
            bool isTriplet = fits && together.Any(stroke => stroke.At == start + (pair * Middle)) && together.All(stroke => stroke.At == start || stroke.At == start + (pair * even)
                || stroke.At == start + (pair * Middle) || stroke.At == start + (pair * Short));
            result.AddRange(together.Select(stroke =>
                isSwungPair && stroke.At != start ? stroke with { At = start + (pair * off) }
                : isTriplet && stroke.At == start + (pair * even) ? stroke with { At = start + (pair * Short) }
                : stroke));
        }

        return result;
    }
}
