using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Bench.Wording;

/// <summary>Numbers as they are set on the page: a true minus sign, a plus where a sign means something, no digits that were not measured.</summary>
internal static class Say
{
    public static string Milliseconds(double ms) => Signed(ms, "0.0") + "\u00A0ms";

    public static string Decibels(double db) => Signed(db, "0.0", plus: false) + "\u00A0dB";

    public static string Ratio(double ratio) => ratio.ToString("0.00", CultureInfo.InvariantCulture) + "\u2009:\u20091";

    public static string Tempo(double bpm) => bpm.ToString("0.0", CultureInfo.InvariantCulture);

    public static string Interval(Estimate estimate, string format, bool signed = false) => signed
        ? $"{Signed(estimate.Low, format)} to {Signed(estimate.High, format)}"
        : $"{Plain(estimate.Low, format)} to {Plain(estimate.High, format)}";

    public static string Signed(double value, string format, bool plus = true)
    {
        string digits = Math.Abs(value).ToString(format, CultureInfo.InvariantCulture);
        bool isZero = !digits.AsSpan().ContainsAnyInRange('1', '9');
        return isZero ? digits : value < 0 ? "\u2212" + digits : plus ? "+" + digits : digits;
    }

    public static string Plain(double value, string format) => Signed(value, format, plus: false);

    /// <summary>"18 ms behind", "6 ms ahead", "on it".</summary>
    public static string BehindOrAhead(double ms)
    {
        string whole = Math.Abs(ms).ToString("0", CultureInfo.InvariantCulture);
        return whole == "0" ? "level with it" : $"{whole}\u00A0ms {(ms > 0 ? "behind" : "ahead")}";
    }

    public static string Level(SwingLevel level) => level == SwingLevel.Eighth ? "8ths" : "16ths";

    public static string Pieces(IEnumerable<KitPiece> pieces) => string.Join(", ", pieces.Select(piece => piece.Name()));

    public static string Duration(Seconds length) => length.Value < 60
        ? length.Value.ToString("0.0", CultureInfo.InvariantCulture) + "\u00A0s"
        : $"{(int)(length.Value / 60)}:{((int)length.Value % 60).ToString("00", CultureInfo.InvariantCulture)}";

    /// <summary>The place as it is counted: "3", "3 e", "3 &amp;", "3 a"; other places as the beat and a fraction (common practice, no source).</summary>
    public static string Count(int beat, Fraction within)
    {
        string syllable = (within.Numerator, within.Denominator) switch
        {
            (0, _) => "",
            (1, 4) => " e",
            (1, 2) => " &",
            (3, 4) => " a",
            _ => $" + {within}",
        };
        return beat.ToString(CultureInfo.InvariantCulture) + syllable;
    }

    public static string Place(BarPosition position) => $"bar {position.Bar}, {Count(position.Beat, position.Within)}";
}
