using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>How a place is counted aloud (common practice, no source): "1 e &amp; a", "1 trip let", 6/8 in its eighths.</summary>
public static class CountWords
{
    /// <param name="at">Share of a whole note from the start of the bar.</param>
    /// <returns>The word, or null for a place that nobody counts.</returns>
    public static string? Of(Meter meter, Fraction at)
    {
        Fraction unit = meter.IsCompound ? new Fraction(1, meter.Denominator) : meter.BeatLength;
        Fraction counts = at / unit;
        long whole = counts.Floor();
        Fraction within = counts - new Fraction(whole);
        return (within.Numerator, within.Denominator) switch
        {
            (0, _) => (whole + 1).ToString(CultureInfo.InvariantCulture),
            (1, 2) => "&",
            (1, 4) => "e",
            (3, 4) => "a",
            (1, 3) => "trip",
            (2, 3) => "let",
            _ => null,
        };
    }
}
