using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Feel;

/// <summary>One line of a table of figures.</summary>
/// <param name="Subject">What is measured, in words: "16ths, all", "kick", "snare, beat 2".</param>
/// <param name="Strokes">How many strokes it rests on; 0 when the figure rests on the whole passage.</param>
/// <param name="Known">False when the recording cannot tell (the value is then the sum that is known).</param>
public sealed record FeelLine(string Subject, Estimate Value, int Strokes, bool Known, string Verdict, IReadOnlyList<Doubt> Doubts);

/// <summary>A kind of figure, declared once; the console, the pages and the documentation read it from here.</summary>
/// <param name="Id">Short and stable; also the name of its page under docs/measures.</param>
/// <param name="Unit">"ratio", "ms", "dBFS", "bpm/min".</param>
/// <param name="Decimals">Digits after the point that the figure deserves.</param>
/// <param name="ShowsSign">True when a plus sign says something (late, faster).</param>
/// <param name="Explanation">One sentence for a drummer.</param>
public sealed record FeelFigureKind(
    string Id, string Name, string Unit, int Decimals, bool ShowsSign, string Explanation, Func<FeelReport, IEnumerable<FeelLine>> Lines)
{
    /// <summary>A value as this figure is printed: "1.62", "+18.0".</summary>
    public string Format(double value)
    {
        string digits = Decimals == 0 ? "0" : "0." + new string('0', Decimals);
        double rounded = Math.Round(value, Decimals, MidpointRounding.AwayFromZero);
        return ShowsSign && rounded != 0
            ? rounded.ToString($"+{digits};−{digits}", CultureInfo.InvariantCulture)
            : Math.Abs(rounded) == 0 ? 0.0.ToString(digits, CultureInfo.InvariantCulture) : rounded.ToString($"{digits};−{digits}", CultureInfo.InvariantCulture);
    }

    /// <summary>"1.58 to 1.66".</summary>
    public string FormatInterval(Estimate estimate) => $"{Format(estimate.Low)} to {Format(estimate.High)}";
}

/// <summary>The table of figures.</summary>
public static class FeelFigures
{
    public static FeelFigureKind Swing { get; } = new("swing-ratio", "Swing", "ratio", 2, false,
        "How much longer the first of two 8ths or 16ths is than the second: 1 is straight, 2 a triplet.",
        report => report.Swing.Select(figure => new FeelLine(
            SwingSubject(report, figure), figure.Ratio, figure.Pairs, Known: !figure.Doubts.OfType<SwingAndLayBackMixed>().Any(), figure.Verdict.ToString().ToLowerInvariant(), figure.Doubts)));

    public static FeelFigureKind LayBack { get; } = new("lay-back", "Lay-back", "ms", 1, true,
        "How far a piece lies behind (+) or ahead of (−) the reference where nothing swings.",
        report => report.LayBack.Where(figure => !figure.Doubts.OfType<IsTheReference>().Any()).Select(figure => new FeelLine(
            figure.Piece.Name(), figure.Milliseconds, figure.Hits, figure.Identified, figure.Identified ? Side(figure.Milliseconds) : "cannot tell", figure.Doubts)));

    public static FeelFigureKind Place { get; } = new("places", "Places", "ms", 1, true,
        "How far a piece lies from the reference at one place of the bar; at places that swing the swing is in it.",
        report => report.Places.Select(figure => new FeelLine(
            $"{figure.Piece.Name()}, {Count(figure.Beat, figure.Within)}", figure.Milliseconds, figure.Hits, true, Side(figure.Milliseconds), [])));

    public static FeelFigureKind Habit { get; } = new("habits", "Habits", "ms", 1, true,
        "What a piece does at one place of the bar, again and again, beyond its lay-back and swing.",
        report => report.Places.Where(figure => figure.HabitKnown).Select(figure => new FeelLine(
            $"{figure.Piece.Name()}, {Count(figure.Beat, figure.Within)}", figure.Habit, figure.Hits, true, Side(figure.Habit), [])));

    public static FeelFigureKind Looseness { get; } = new("looseness", "Looseness", "ms", 1, false,
        "How much a piece's timing scatters from stroke to stroke once swing, lay-back, habits and tempo are taken out.",
        report => report.Looseness.Select(figure => new FeelLine(figure.Piece.Name(), figure.Milliseconds, figure.Hits, true, "", figure.Doubts)));

    public static FeelFigureKind Touch { get; } = new("touch", "Touch", "dBFS", 1, false,
        "How loud a piece is played at one place of the bar.",
        report => report.Touch.Select(figure => new FeelLine($"{figure.Piece.Name()}, {Count(figure.Beat, figure.Within)}", figure.Level, figure.Hits, true, "", [])));

    public static FeelFigureKind Drift { get; } = new("tempo-drift", "Tempo drift", "bpm/min", 1, true,
        "How the tempo changes over the passage: plus is getting faster.",
        report => [new FeelLine("tempo", report.Tempo.DriftBpmPerMinute, 0, true, Side(report.Tempo.DriftBpmPerMinute, "faster", "slower", "steady or unknown"), [])]);

    /// <summary>Every figure, in the order of the page.</summary>
    public static IReadOnlyList<FeelFigureKind> All { get; } = [Swing, LayBack, Place, Habit, Looseness, Touch, Drift];

    /// <summary>"late" or "early" only when the whole interval says so.</summary>
    internal static string Side(Estimate estimate, string above = "late", string below = "early", string neither = "not told apart from zero") =>
        estimate.Low > 0 ? above : estimate.High < 0 ? below : neither;

    /// <summary>A place as it is counted: "beat 2", "2 &amp;", "3 e", "4 a"; other places as a fraction: "1 + 1/3".</summary>
    public static string Count(int beat, Fraction within)
    {
        string number = beat.ToString(CultureInfo.InvariantCulture);
        if (within == 0)
            return "beat " + number;
        if (within == new Fraction(1, 2))
            return number + " &";
        return within == new Fraction(1, 4) ? number + " e" : within == new Fraction(3, 4) ? number + " a" : $"{number} + {within}";
    }

    internal static string LevelName(SwingLevel level) => level == SwingLevel.Eighth ? "8ths" : "16ths";

    private static string SwingSubject(FeelReport report, SwingFigure figure) =>
        LevelName(figure.Level) + (ReferenceEquals(report.Swing.First(other => other.Level == figure.Level), figure) && report.Swing.Count(other => other.Level == figure.Level) > 1
            ? ", all"
            : ", " + Hand.Name(figure.Pieces));
}
