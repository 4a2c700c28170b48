using static Hindbeat.Feel.FeelWords;

namespace Hindbeat.Feel;

/// <summary>Swing in sentences: each level once, and a hand of its own only where it differs from the whole.</summary>
internal static class SwingWords
{
    private const double Triplet = 2;

    /// <summary>Size of the surest swing in units of what listeners could tell inside a groove; 0 when nothing surely swings.</summary>
    public static double Telling(FeelReport report) => Whole(report)
        .Where(figure => figure.WorthWriting).Select(figure => figure.DelayMs.Value / Audibility.SwingInGrooveMs).DefaultIfEmpty(0).Max();

    public static IEnumerable<string> Sure(FeelReport report)
    {
        foreach (SwingFigure figure in Whole(report).OrderByDescending(figure => figure.Verdict == SwingVerdict.Swung).ThenBy(figure => figure.Level))
        {
            if (figure.Verdict == SwingVerdict.Undecided)
                continue;
            yield return Level(report, figure);
            foreach (SwingFigure hand in Hands(report, figure).Where(hand => Differs(hand, figure) || (!figure.IsNarrow && hand.WorthWriting)))
                yield return Own(hand);
        }
    }

    public static IEnumerable<string> Unsure(FeelReport report)
    {
        foreach (SwingFigure figure in Whole(report).Where(figure => figure.Verdict == SwingVerdict.Undecided))
        {
            string level = FeelFigures.LevelName(figure.Level);
            if (figure.Doubts.OfType<SwingAndLayBackMixed>().Any())
                yield return $"Whether the {level} swing cannot be told: no piece plays them both on and off the beat.";
            else if (figure.Ratio.High < 1 && figure.Doubts.OfType<OffBeatsEarly>().Any())
                continue;
            else if (figure.SmallestRatioShown >= Triplet)
                yield return Text($"Whether the {level} swing cannot be told from {Strokes(figure.Pairs)} that scatter so much.");
            else
                yield return Text($"Whether the {level} swing cannot be told: {Numbers(figure.Ratio)}; from {figure.SmallestRatioShown:0.00} : 1 on it would have shown.");
            foreach (SwingFigure hand in Hands(report, figure).Where(hand => hand.WorthWriting))
                yield return Own(hand);
        }
    }

    private static IEnumerable<SwingFigure> Whole(FeelReport report) => report.Swing.Where(figure => IsWhole(report, figure));

    private static bool IsWhole(FeelReport report, SwingFigure figure) =>
        ReferenceEquals(report.Swing.First(other => other.Level == figure.Level), figure);

    private static IEnumerable<SwingFigure> Hands(FeelReport report, SwingFigure whole) =>
        report.Swing.Where(figure => figure.Level == whole.Level && !ReferenceEquals(figure, whole));

    /// <summary>A hand has its own sentence when its interval lies wholly beside the whole's: both are then surely different.</summary>
    private static bool Differs(SwingFigure hand, SwingFigure whole) =>
        hand.Verdict != SwingVerdict.Undecided && (hand.Ratio.Low > whole.Ratio.High || hand.Ratio.High < whole.Ratio.Low);

    private static string Level(FeelReport report, SwingFigure figure)
    {
        string level = FeelFigures.LevelName(figure.Level);
        Estimate ratio = figure.Ratio;
        if (figure.Verdict == SwingVerdict.Straight)
        {
            return ratio.Low > 1
                ? Text($"The {level} are as good as straight: {Numbers(ratio)}.")
                : Text($"The {level} are straight: {Numbers(ratio)}, and a swing of {figure.SmallestRatioShown:0.00} : 1 would have shown.");
        }

        string who = report.Swing.Count(other => other.Level == figure.Level) > 1 ? "" : $" on the {Hand.Name(figure.Pieces)}";
        if (!figure.IsNarrow)
            return Text($"The {level} swing{who}, but how much cannot be told: anything from {ratio.Low:0.00} : 1 to {ratio.High:0.00} : 1.");
        if (!figure.WorthWriting)
            return Text($"The {level}{who} lean a little toward swing: {Numbers(ratio)}. The second of each pair comes {figure.DelayMs.Value:0.0} ms after its even place, too little to write down as swing{Heard(figure.DelayMs.Value)}.");
        SwingFigure[] hands = [.. Hands(report, figure)];
        string alike = hands.Length > 1 && hands.All(hand => hand.Verdict == SwingVerdict.Swung && !Differs(hand, figure))
            ? $", on the {Listing(hands.Select(hand => Hand.Name(hand.Pieces)))} alike"
            : "";
        return Text($"The {level} swing at {Numbers(ratio)}{who}{alike}: the second of each pair comes {figure.DelayMs.Value:0} ms after its even place and the first takes {figure.SharePercent.Value:0} % of the pair{Landmark(ratio)}{Heard(figure.DelayMs.Value)}.");
    }

    private static string Own(SwingFigure hand)
    {
        string level = FeelFigures.LevelName(hand.Level), name = Hand.Name(hand.Pieces);
        return hand.Verdict == SwingVerdict.Straight
            ? Text($"The {name} alone plays them straight: {Numbers(hand.Ratio)}.")
            : !hand.IsNarrow
                ? Text($"The {name} alone swings them otherwise, by {hand.Ratio.Low:0.00} : 1 to {hand.Ratio.High:0.00} : 1.")
                : Text($"The {name} alone swings the {level} at {Numbers(hand.Ratio)}, the second of each pair {hand.DelayMs.Value:0} ms after its even place.");
    }

    private static string Numbers(Estimate ratio) => Text($"{ratio.Value:0.00} : 1 ({ratio.Low:0.00} to {ratio.High:0.00})");

    private static string Strokes(int count) => count == 1 ? "one off-beat" : Text($"{count} off-beats");

    private static string Landmark(Estimate ratio) =>
        ratio.Low <= 2 && ratio.High >= 2 ? ", a triplet feel" : ratio.High < 2 ? ", between straight (1 : 1) and triplet (2 : 1)" : ", sharper than a triplet (2 : 1)";

    private static string Heard(double ms) => Math.Abs(ms) < Audibility.SwingInGrooveMs
        ? Text($", below the {Audibility.SwingInGrooveMs:0} ms that listeners in one study could tell inside a groove")
        : "";
}
