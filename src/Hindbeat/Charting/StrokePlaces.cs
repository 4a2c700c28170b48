using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>
/// Brings the places of a group to ones that can be printed. Most are printed exactly as they are; a
/// group whose strokes need a finer common grid than <see cref="FinestTuplet"/> is rounded to it, so that
/// no stroke is lost to a value too short to write.
/// </summary>
internal static class StrokePlaces
{
    /// <summary>48 notes a group: 32nd triplets and everything coarser fit; what is finer is measurement, not writing.</summary>
    private const int FinestTuplet = 48;

    /// <summary>A lone 16th (a bar of 1/16) can be cut no finer without values below a 256th.</summary>
    private const int FinestTupletOfA16th = 24;

    /// <summary>A straight place is a multiple of a 256th, the shortest value written.</summary>
    private const int FinestStraight = 256;

    /// <param name="places">Places of one voice within one group, from the bar's start.</param>
    /// <returns>The printable places in the same order, and whether any was moved.</returns>
    public static (Fraction[] Places, bool Moved) Printable(MeterGroup group, IReadOnlyList<Fraction> places)
    {
        if (places.All(place => IsPowerOfTwo(place.Denominator) && place.Denominator <= FinestStraight))
            return ([.. places], false);
        int finest = group.Length < new Fraction(1, 8) ? FinestTupletOfA16th : FinestTuplet;
        bool straight = places.All(place => IsPowerOfTwo(place.Denominator));
        long common = straight ? long.MaxValue : 1; // Straight, but finer than a 256th.
        foreach (Fraction place in places)
        {
            long denominator = ((place - group.Start) / group.Length).Denominator;
            common = common > finest || denominator > finest ? long.MaxValue : LeastCommonMultiple(common, denominator);
            if (common > finest)
                return ([.. places.Select(exact => Rounded(group, exact, finest))], true);
        }

        return ([.. places], false);
    }

    private static Fraction Rounded(MeterGroup group, Fraction place, int finest)
    {
        Fraction nearest = Fraction.Nearest(((place - group.Start) / group.Length).ToDouble(), finest);
        if (nearest >= 1)
            nearest = new Fraction(finest - 1, finest);
        return group.Start + (group.Length * nearest);
    }

    private static bool IsPowerOfTwo(long value) => (value & (value - 1)) == 0;

    private static long LeastCommonMultiple(long a, long b)
    {
        long x = a;
        long y = b;
        while (y != 0)
            (x, y) = (y, x % y);
        return a / x * b;
    }
}
