using System.Globalization;
using Hindbeat.Performances;

namespace Hindbeat.Feel;

/// <summary>
/// A feel report as plain sentences that a drummer reads with pleasure, one page: what is most telling first, then
/// the rest in a fixed order, and at the end, together, what this recording cannot tell. Sizes are set beside what
/// listeners could tell in published studies, never called inaudible.
/// </summary>
public static class FeelWords
{
    /// <summary>The sentence that opens the last part of the page.</summary>
    internal const string CannotTellHeading = "The rest this passage cannot tell, or only with care.";

    public static IReadOnlyList<string> Describe(FeelReport report)
    {
        ArgumentNullException.ThrowIfNull(report);
        var unsure = new List<string>();
        var parts = new List<(double Telling, List<string> Sentences)>
        {
            (SwingWords.Telling(report), [.. SwingWords.Sure(report)]),
            (LayBackWords.Telling(report), [.. LayBackWords.Sure(report)]),
            (TempoTelling(report), [Tempo(report)]),
        };
        unsure.AddRange(SwingWords.Unsure(report));
        unsure.AddRange(LayBackWords.Unsure(report));

        // A stable sort: of two parts that tell equally much (nothing, say) the order above stays.
        List<string> sentences = [.. parts.OrderByDescending(part => part.Telling).SelectMany(part => part.Sentences)];
        sentences.AddRange(HabitWords.Sure(report));
        unsure.AddRange(HabitWords.Unsure(report));
        sentences.AddRange(Looseness(report, unsure));
        sentences.AddRange(Dynamics(report, unsure));
        unsure.AddRange(DoubtWords.Of(report));
        return unsure.Count == 0 ? sentences : [.. sentences, CannotTellHeading, .. unsure.Distinct()];
    }

    /// <summary>How many times the smallest change of tempo that a listener could tell the passage drifts, when it surely does.</summary>
    private static double TempoTelling(FeelReport report)
    {
        Estimate drift = report.Tempo.DriftBpmPerMinute;
        if (report.Tempo.Curve.Count < 2 || drift is { Low: <= 0, High: >= 0 })
            return 0;
        double minutes = (report.Tempo.Curve[^1].Time - report.Tempo.Curve[0].Time).Value / 60;
        return Math.Abs(100 * drift.Value * minutes / report.Tempo.Bpm.Value) / Audibility.TempoChangePercent;
    }

    private static string Tempo(FeelReport report)
    {
        Estimate drift = report.Tempo.DriftBpmPerMinute;
        double bpm = report.Tempo.Bpm.Value, most = Math.Max(Math.Abs(drift.Low), Math.Abs(drift.High)), least = Math.Min(Math.Abs(drift.Low), Math.Abs(drift.High));
        if (drift.Low > 0 || drift.High < 0)
            return Text($"The tempo is {bpm:0.0} bpm, getting {(drift.Value > 0 ? "faster" : "slower")} by {Math.Abs(drift.Value):0.0} bpm a minute ({least:0.0} to {most:0.0}).");
        return most > 0.25 * bpm
            ? Text($"The tempo is {bpm:0.0} bpm; the passage is too short to say whether it drifts.")
            : Text($"The tempo is {bpm:0.0} bpm and holds, as far as this passage can tell (a drift of more than {most:0.0} bpm a minute would have shown).");
    }

    /// <summary>A spread whose interval spans more than a factor of four says nothing; it goes to what cannot be told.</summary>
    private static IEnumerable<string> Looseness(FeelReport report, List<string> unsure)
    {
        const double WidestOfUse = 4;
        LoosenessFigure[] told = [.. report.Looseness.Where(figure => figure.Milliseconds.High <= WidestOfUse * figure.Milliseconds.Low).OrderBy(figure => figure.Milliseconds.Value)];
        string[] rest = [.. report.Looseness.Except(told).Select(figure => figure.Piece.Name())];
        if (rest.Length > 0)
            unsure.Add($"How evenly the {Listing(rest)} {(rest.Length == 1 ? "is" : "are")} played cannot be told from so few strokes.");
        if (told.Length == 0)
            yield break;
        string Size(LoosenessFigure figure) => Text($"{figure.Milliseconds.Value:0.0} ms ({figure.Milliseconds.Low:0.0} to {figure.Milliseconds.High:0.0})");
        yield return told.Length == 1
            ? $"From stroke to stroke the {told[0].Piece.Name()} scatters by {Size(told[0])}."
            : $"From stroke to stroke the {told[0].Piece.Name()} is the most even, scattering by {Size(told[0])}; {Listing(told.Skip(1).Select(figure => $"the {figure.Piece.Name()} by {Size(figure)}"))}.";
    }

    private static IEnumerable<string> Dynamics(FeelReport report, List<string> unsure)
    {
        const double LeastDifferenceDb = 3;
        foreach (GhostFigure figure in report.Ghosts.Where(figure => !figure.IsTold))
            unsure.Add(Text($"How far the {figure.Piece.Name()}'s {figure.SoftOnes} lie below its full strokes cannot be told from {figure.Ghosts} of them."));
        foreach (GhostFigure figure in report.Ghosts.Where(figure => figure.IsTold))
            yield return Text($"The {figure.Piece.Name()}'s {figure.SoftOnes} lie {figure.Decibels.Value:0} dB below its full strokes ({figure.Decibels.Low:0} to {figure.Decibels.High:0}).");
        foreach (var piece in report.Touch.GroupBy(figure => figure.Piece).Where(piece => report.Ghosts.All(figure => figure.Piece != piece.Key)))
        {
            TouchFigure loud = piece.MaxBy(figure => figure.Level.Value)!, soft = piece.MinBy(figure => figure.Level.Value)!;
            if (loud.Level.Low - soft.Level.High > LeastDifferenceDb)
                yield return Text($"The {piece.Key.Name()} is loudest on {FeelFigures.Count(loud.Beat, loud.Within)} and softest, {loud.Level.Value - soft.Level.Value:0} dB below, on {FeelFigures.Count(soft.Beat, soft.Within)}.");
        }
    }

    /// <summary>"a", "a and b", "a, b and c".</summary>
    internal static string Listing(IEnumerable<string> words)
    {
        string[] all = [.. words];
        return all.Length < 2 ? string.Concat(all) : $"{string.Join(", ", all[..^1])} and {all[^1]}";
    }

    internal static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
