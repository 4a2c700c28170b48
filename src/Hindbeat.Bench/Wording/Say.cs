using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Bench.Wording;

/// <summary>Numbers and places as they are set on the page: a true minus sign, and a plus where the sign means something.</summary>
internal static class Say
{
    public static string Milliseconds(double ms) => Signed(ms, "0.0", plus: true) + "\u00A0ms";

    public static string Decibels(double db) => Plain(db, "0.0") + "\u00A0dB";

    public static string Ratio(double ratio) => FeelFigures.Swing.Format(ratio) + "\u2009:\u20091";

    public static string Tempo(double bpm) => Plain(bpm, "0.0");

    public static string Plain(double value, string format) => Signed(value, format, plus: false);

    public static string Level(SwingLevel level) => level == SwingLevel.Eighth ? "8ths" : "16ths";

    /// <summary>A moment of the recording: "12.4 s", "3:07".</summary>
    public static string Moment(AudioTime time) => Math.Abs(time.TotalSeconds) < 60
        ? Plain(time.TotalSeconds, "0.0") + "\u00A0s"
        : TimeSpan.FromSeconds(time.TotalSeconds).ToString(@"m\:ss", CultureInfo.InvariantCulture);

    public static string Place(BarPosition position) => $"bar {position.Bar}, {FeelFigures.Count(position.Beat, position.Within)}";

    public static string Marks(HitMarks marks) => marks == HitMarks.None ? "" : marks.ToString().ToLowerInvariant();

    /// <summary>The syllable that a part of the beat is counted with: "e", "&amp;", "a" (common practice, no source).</summary>
    public static string Syllable(Fraction within) => FeelFigures.Count(1, within).Split(' ')[^1];

    private static string Signed(double value, string format, bool plus)
    {
        string digits = Math.Abs(value).ToString(format, CultureInfo.InvariantCulture);
        bool isZero = !digits.AsSpan().ContainsAnyInRange('1', '9');
        return isZero ? digits : value < 0 ? "\u2212" + digits : plus ? "+" + digits : digits;
    }
}
