using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Feel;

/// <summary>The table of figures.</summary>
public static class FeelFigures
{
    public static FeelFigureKind Swing { get; } = new("swing-ratio", "Swing", "ratio", 2, false,
        "How much longer the first of two 8ths or 16ths is than the second: 1 is straight, 2 a triplet.",
        report => report.Swing.Select(figure => new FeelLine(
            SwingSubject(report, figure), figure.Ratio, figure.Pairs, Known: !figure.Doubts.OfType<SwingAndLayBackMixed>().Any(), VerdictOf(figure), figure.Doubts)));

    public static FeelFigureKind LayBack { get; } = new("lay-back", "Lay-back", "ms", 1, true,
        "How far a piece lies behind (+) or ahead of (−) the reference where nothing swings.",
        report => report.LayBack.Where(figure => !figure.Doubts.OfType<IsTheReference>().Any()).Select(figure => new FeelLine(
            figure.Piece.Name(), figure.Milliseconds, figure.Hits, figure.Identified, figure.Identified ? Side(figure.Milliseconds) : "cannot tell", figure.Doubts)));

    public static FeelFigureKind Place { get; } = new("places", "Places", "ms", 1, true,
        "How far a piece lies from the reference at one place of the bar; at places that swing the swing is in it.",
        report => report.Places.Select(figure => new FeelLine(
            $"{figure.Piece.Name()}, {Count(figure.Beat, figure.Within)}", figure.Milliseconds, figure.Hits, true, Side(figure.Milliseconds), []))) { IsDetailed = true };

    public static FeelFigureKind Habit { get; } = new("habits", "Habits", "ms", 1, true,
        "What a piece does at one place of the bar, again and again, beyond its lay-back and swing.",
        report => report.Places.Where(figure => figure.HabitKnown).Select(figure => new FeelLine(
            $"{figure.Piece.Name()}, {Count(figure.Beat, figure.Within)}", figure.Habit, figure.Hits, true, Side(figure.Habit), []))) { IsDetailed = true };

    public static FeelFigureKind Looseness { get; } = new("looseness", "Looseness", "ms", 1, false,
        "How much a piece's timing scatters from stroke to stroke once swing, lay-back, habits and tempo are taken out.",
        report => report.Looseness.Select(figure => new FeelLine(figure.Piece.Name(), figure.Milliseconds, figure.Hits, true, "", figure.Doubts)));

    public static FeelFigureKind Touch { get; } = new("touch", "Touch", "dBFS", 1, false,
        "How loud a piece is played at one place of the bar.",
        report => report.Touch.Select(figure => new FeelLine($"{figure.Piece.Name()}, {Count(figure.Beat, figure.Within)}", figure.Level, figure.Hits, true, "", figure.Doubts))) { IsDetailed = true };

    public static FeelFigureKind Drift { get; } = new("tempo-drift", "Tempo drift", "bpm/min", 1, true,
        "How the tempo changes over the passage: plus is getting faster.",
        report => [new FeelLine("tempo", report.Tempo.DriftBpmPerMinute, 0, true, Side(report.Tempo.DriftBpmPerMinute, "faster", "slower", "steady or unknown"), [])]);

    public static FeelFigureKind SwingOverTime { get; } = new("swing-over-time", "Swing over time", "ratio", 2, false,
        "The swing ratio of a few bars at a time.",
        report => report.SwingOverTime.Select(window => new FeelLine(
            string.Create(CultureInfo.InvariantCulture, $"{LevelName(window.Level)}, bars {window.FirstBar}–{window.LastBar}"), window.Ratio, window.Pairs, true, "", []))) { IsDetailed = true };

    public static FeelFigureKind SwingAgainstTempo { get; } = new("swing-against-tempo", "Swing against tempo", "per 10 bpm", 2, true,
        "How the swing ratio changes when the tempo rises by 10 bpm: minus is straighter when faster.",
        report => report.SwingAgainstTempo.Select(slope => new FeelLine(
            LevelName(slope.Level), slope.PerTenBpm, 0, true, Side(slope.PerTenBpm, "swings more when faster", "straighter when faster"), [])));

    public static FeelFigureKind Together { get; } = new("together", "Together", "ms", 1, false,
        "How much the gap between two limbs varies where both play: less is tighter.",
        report => report.Together.Select(figure => new FeelLine(
            $"{StreamName(figure.First)} against {StreamName(figure.Second)}", figure.SpreadMs, figure.Pairs, true,
            string.Create(CultureInfo.InvariantCulture, $"{StreamName(figure.First)} {figure.ApartMs.Value:+0.0;−0.0;0.0} ms on average"), [])));

    public static FeelFigureKind IntervalSpread { get; } = new("interval-spread", "Stroke to stroke", "ms", 1, false,
        "How much the time from one stroke to the next varies when one hand plays on evenly.",
        report => report.Memory.Select(figure => new FeelLine(StreamName(figure.Stream), figure.IntervalSpreadMs, figure.Intervals, true, "", [])));

    public static FeelFigureKind LagOne { get; } = new("lag-one", "Carry-over", "correlation", 2, true,
        "How one interval goes with the next: −0.5 when strokes stray independently, near 0 when each is timed from the last.",
        report => report.Memory.Select(figure => new FeelLine(
            StreamName(figure.Stream), figure.LagOne, figure.Intervals, true,
            CarryOver(figure.LagOne), [])));

    public static FeelFigureKind LongRange { get; } = new("long-range", "Long memory", "exponent", 2, false,
        "Whether slips last over many bars: 0.5 = each interval knows nothing of the last, above slips last, below they are made up for.",
        report => report.LongRange.Select(figure => new FeelLine(
            StreamName(figure.Stream), figure.Exponent, figure.Intervals, true,
            figure.Exponent.Low > 0.5 ? "slips last" : figure.Exponent.High < 0.5 ? "slips are made up for" : "no memory shown", [])));

    public static FeelFigureKind Flams { get; } = new("flams", "Flams", "ms", 1, false,
        "How long before the main stroke the grace stroke falls.",
        report => report.Flams.Select(figure => new FeelLine(figure.Piece.Name(), figure.WidthMs, figure.Flams, true, "", [])));

    public static FeelFigureKind Accent { get; } = new("accents", "Accents", "dB", 1, true,
        "How much louder (+) or softer (−) a piece is at one place than on average.",
        report => report.Touch.Where(figure => figure.Accent is not null).Select(figure => new FeelLine(
            $"{figure.Piece.Name()}, {Count(figure.Beat, figure.Within)}", figure.Accent!.Value, figure.Hits, true,
            Side(figure.Accent!.Value, "louder", "softer", "as on average"), []))) { IsDetailed = true };

    public static FeelFigureKind Ghosts { get; } = new("ghosts", "Ghosts", "dB", 1, false,
        "How far the ghost strokes lie below the full strokes of the same piece.",
        report => report.Ghosts.Select(figure => new FeelLine(
            figure.Piece.Name(), figure.Decibels, figure.Ghosts, true,
            string.Create(CultureInfo.InvariantCulture, $"{(figure.IsTold ? "" : "cannot tell; ")}{figure.Ghosts} {figure.SoftOnes}, {figure.FullStrokes} full"), [])));

    public static FeelFigureKind LoudAndLate { get; } = new("loud-and-late", "Loud and late", "ms/10 dB", 1, true,
        "How much later (+) a piece comes where it is played 10 dB louder at the same place.",
        report => report.LoudAndLate.Select(figure => new FeelLine(
            figure.Piece.Name(), figure.MsPer10Db, figure.Hits, true, Side(figure.MsPer10Db, "louder is later", "louder is earlier"), [])));

    public static FeelFigureKind Openness { get; } = new("hat-openness", "Open hats", "%", 0, false,
        "How often the hat is open at one place of the bar.",
        report => report.Openness.Select(figure => new FeelLine(Count(figure.Beat, figure.Within), figure.Percent, figure.Strokes, true, "", []))) { IsDetailed = true };

    /// <summary>Every figure, in the order of the page.</summary>
    public static IReadOnlyList<FeelFigureKind> All { get; } =
    [
        Swing, SwingAgainstTempo, SwingOverTime, LayBack, Place, Habit, Together, Looseness, IntervalSpread, LagOne, LongRange, Flams,
        Touch, Accent, Ghosts, LoudAndLate, Openness, Drift,
    ];

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

    /// <summary>A stream in words: its first piece's name, "hats" for the hand on the hats.</summary>
    internal static string StreamName(KitPiece stream) => stream == KitPiece.HatClosed ? "hats" : stream.Name();

    private static string CarryOver(Estimate lag) => lag switch
    {
        { High: < -0.5 } => "makes up for each slip at once",
        { Low: > -0.5 } => "a slip stays for some strokes",
        { High: < 0 } => "as when strokes stray independently",
        _ => "cannot tell",
    };

    private static string VerdictOf(SwingFigure figure)
    {
        string verdict = figure.Verdict.ToString().ToLowerInvariant();
        return figure.RatioFromSound is { } ratio ? string.Create(CultureInfo.InvariantCulture, $"{verdict}; the sound alone says {ratio:0.00}") : verdict;
    }

    private static string SwingSubject(FeelReport report, SwingFigure figure) =>
        LevelName(figure.Level) + (ReferenceEquals(report.Swing.First(other => other.Level == figure.Level), figure) && report.Swing.Count(other => other.Level == figure.Level) > 1
            ? ", all"
            : ", " + Hand.Name(figure.Pieces));
}
