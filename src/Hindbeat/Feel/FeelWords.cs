using System.Globalization;
using Hindbeat.Performances;

namespace Hindbeat.Feel;

/// <summary>
/// A feel report as plain sentences that a drummer understands, one page: tempo, what things are measured
/// against, swing, who lies where, how evenly, how loud, and what this recording cannot tell. Sizes are set
/// beside what listeners could tell in published studies, never called inaudible.
/// </summary>
public static class FeelWords
{
    private const int MostHabits = 3;

    /// <summary>
    /// A groove has some thirty places, and one in twenty 95 % intervals misses zero by chance; a habit is told
    /// only when it is 1.5 half widths from zero (about one chance in 300).
    /// </summary>
    private const double SureHabit = 1.5;

    public static IReadOnlyList<string> Describe(FeelReport report)
    {
        ArgumentNullException.ThrowIfNull(report);
        var sentences = new List<string> { Tempo(report) };
        sentences.AddRange(Swing(report));
        sentences.AddRange(LayBack(report));
        sentences.AddRange(Habits(report));
        sentences.AddRange(Looseness(report));
        sentences.AddRange(Dynamics(report));
        sentences.AddRange(Doubts(report).Distinct());
        return sentences;
    }

    private static string Tempo(FeelReport report)
    {
        Estimate drift = report.Tempo.DriftBpmPerMinute;
        double bpm = report.Tempo.Bpm.Value;
        string moves = drift.Low > 0 || drift.High < 0
            ? Text($"getting {(drift.Value > 0 ? "faster" : "slower")} by {Math.Abs(drift.Value):0.0} bpm a minute ({Math.Min(Math.Abs(drift.Low), Math.Abs(drift.High)):0.0} to {Math.Max(Math.Abs(drift.Low), Math.Abs(drift.High)):0.0})")
            : Text($"and whether it drifts cannot be told beyond {Math.Max(Math.Abs(drift.Low), Math.Abs(drift.High)):0.0} bpm a minute");
        return Text($"The tempo is {bpm:0.0} bpm, {moves}.");
    }

    private static IEnumerable<string> Swing(FeelReport report)
    {
        foreach (SwingFigure figure in report.Swing)
        {
            bool whole = ReferenceEquals(report.Swing.First(other => other.Level == figure.Level), figure);
            string level = FeelFigures.LevelName(figure.Level);
            string who = whole ? $"The {level}" : $"On the {Hand.Name(figure.Pieces)} alone the {level}";
            Estimate ratio = figure.Ratio;
            string numbers = Text($"{ratio.Value:0.00} : 1 ({ratio.Low:0.00} to {ratio.High:0.00})");
            yield return figure.Verdict switch
            {
                SwingVerdict.Swung => Text($"{who} swing at {numbers}: the second of each pair comes {figure.DelayMs.Value:0} ms after its even place and the first takes {figure.SharePercent.Value:0} % of the pair{(whole ? Landmark(ratio) : "")}{Heard(figure.DelayMs.Value, Audibility.SwingInGrooveMs)}."),
                SwingVerdict.Straight => Text($"{who} are straight: {numbers}, and a swing of {figure.SmallestRatioShown:0.00} : 1 would have shown."),
                _ => Text($"Whether {char.ToLowerInvariant(who[0])}{who[1..]} swing cannot be told: {numbers}."),
            };
        }
    }

    private static string Landmark(Estimate ratio) =>
        ratio.Low <= 2 && ratio.High >= 2 ? ", a triplet feel" : ratio.High < 2 ? ", between straight (1 : 1) and triplet (2 : 1)" : ", sharper than a triplet (2 : 1)";

    private static string Heard(double ms, double threshold) => Math.Abs(ms) < threshold
        ? Text($", below the {threshold:0} ms that listeners in one study could tell inside a groove")
        : "";

    private static IEnumerable<string> LayBack(FeelReport report)
    {
        var told = report.LayBack.Where(figure => figure.Identified).ToList();
        if (told.Count > 0)
            yield return $"Late and early are measured against the {report.ReferenceName}, at places that do not swing.";
        foreach (LayBackFigure figure in told)
        {
            Estimate ms = figure.Milliseconds;
            string interval = Text($"({ms.Low:+0.0;−0.0;0.0} to {ms.High:+0.0;−0.0;0.0} ms)");
            yield return ms.Low > 0 || ms.High < 0
                ? Text($"The {figure.Piece.Name()} lies {Math.Abs(ms.Value):0.0} ms {(ms.Value > 0 ? "behind" : "ahead")} {interval}, {Math.Abs(100 * figure.Beats):0.0} % of a beat{Heard(ms.Value, Audibility.AsynchronyInGrooveMs)}.")
                : Text($"The {figure.Piece.Name()} sits with the {report.ReferenceName} as far as {figure.Hits} strokes can tell {interval}.");
        }
    }

    /// <summary>The places that stand out most, only those that are sure.</summary>
    private static IEnumerable<string> Habits(FeelReport report) => report.Places
        .Where(place => place.HabitKnown && Math.Abs(place.Habit.Value) > SureHabit * place.Habit.HalfWidth)
        .OrderByDescending(place => Math.Min(Math.Abs(place.Habit.Low), Math.Abs(place.Habit.High)))
        .Take(MostHabits)
        .Select(place => Text($"On {FeelFigures.Count(place.Beat, place.Within)} the {place.Piece.Name()} comes {Math.Abs(place.Habit.Value):0.0} ms {(place.Habit.Value > 0 ? "later" : "earlier")} than elsewhere, again and again ({place.Habit.Low:+0.0;−0.0;0.0} to {place.Habit.High:+0.0;−0.0;0.0} ms)."));

    private static IEnumerable<string> Looseness(FeelReport report)
    {
        if (report.Looseness.Count == 0)
            yield break;
        yield return "From stroke to stroke the timing scatters by "
            + string.Join(", ", report.Looseness.Select(figure => Text($"{figure.Milliseconds.Value:0.0} ms on the {figure.Piece.Name()} ({figure.Milliseconds.Low:0.0} to {figure.Milliseconds.High:0.0})")))
            + ".";
    }

    private static IEnumerable<string> Dynamics(FeelReport report)
    {
        foreach (var piece in report.Touch.GroupBy(figure => figure.Piece))
        {
            TouchFigure loud = piece.MaxBy(figure => figure.Level.Value)!, soft = piece.MinBy(figure => figure.Level.Value)!;
            if (loud.Level.Low - soft.Level.High > 3)
                yield return Text($"The {piece.Key.Name()} is loudest on {FeelFigures.Count(loud.Beat, loud.Within)} and {loud.Level.Value - soft.Level.Value:0} dB softer on {FeelFigures.Count(soft.Beat, soft.Within)}.");
        }
    }

    private static IEnumerable<string> Doubts(FeelReport report) => report.Doubts
        .Concat(report.Swing.SelectMany(figure => figure.Doubts).Where(doubt => doubt is not SwingBelowHearing))
        .Concat(report.LayBack.SelectMany(figure => figure.Doubts).Where(doubt => doubt is not IsTheReference))
        .Concat(report.Looseness.SelectMany(figure => figure.Doubts))
        .Select(doubt => doubt.Text);

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
