using Hindbeat.Performances;
using static Hindbeat.Feel.FeelWords;

namespace Hindbeat.Feel;

/// <summary>One figure in two passages.</summary>
/// <param name="Difference">Second − first in the figure's unit, with its 95 % interval.</param>
/// <param name="HeardFromTimes">
/// How many times the smallest difference that listeners in a published study could tell the difference is; null when no
/// study is known for it.
/// </param>
/// <param name="Text">One sentence for a drummer.</param>
public sealed record FeelDifference(
    FeelFigureKind Kind, string Subject, Estimate First, Estimate Second, Estimate Difference, double? HeardFromTimes, string Text)
{
    /// <summary>Whether the interval leaves out zero.</summary>
    public bool IsSure => Difference.Low > 0 || Difference.High < 0;
}

/// <summary>Two passages side by side.</summary>
/// <param name="Differences">Figures that both have, in the order of <see cref="FeelFigures.All"/>.</param>
/// <param name="Doubts">What makes the two hard to compare.</param>
public sealed record FeelComparisonResult(IReadOnlyList<FeelDifference> Differences, IReadOnlyList<Doubt> Doubts);

/// <summary>The two were measured against different references.</summary>
public sealed record DifferentReferences(string First, string Second) : Doubt
{
    public override string Text =>
        $"The first was measured against the {First}, the second against the {Second}; their lay-backs cannot be set side by side.";
}

/// <summary>
/// Compares two passages or drummers figure by figure. Difference = second − first; its interval from the two intervals, which
/// need not be even: L = d − √((v₂ − l₂)² + (u₁ − v₁)²), U = d + √((u₂ − v₂)² + (v₁ − l₁)²). The two passages are taken
/// to be independent.
/// </summary>
/// <remarks>Zou and Donner, Statistics in Medicine 27:1693–1702, 2008 (from memory). A step in level of about 1 dB is what listeners tell (textbook, from memory).</remarks>
public static class FeelComparison
{
    private const double LevelStepDb = 1;

    public static FeelComparisonResult Between(FeelReport first, FeelReport second)
    {
        ArgumentNullException.ThrowIfNull(first);
        ArgumentNullException.ThrowIfNull(second);
        bool sameReference = first.ReferenceName == second.ReferenceName;
        var differences = new List<FeelDifference>();
        foreach (SwingFigure figure in Whole(first))
        {
            if (Whole(second).FirstOrDefault(other => other.Level == figure.Level) is { } other)
                differences.Add(Swing(figure, other));
        }

        foreach (FeelFigureKind kind in FeelFigures.All.Where(kind => kind != FeelFigures.Swing && kind != FeelFigures.Touch && kind != FeelFigures.SwingOverTime))
        {
            // Places hold the reference too; levels of two recordings compare only within a recording (accents, ghosts).
            if (!sameReference && (kind == FeelFigures.LayBack || kind == FeelFigures.Place))
                continue;
            var others = kind.Lines(second).Where(line => line.Known).GroupBy(line => line.Subject).ToDictionary(lines => lines.Key, lines => lines.First());
            foreach (FeelLine line in kind.Lines(first).Where(line => line.Known))
            {
                if (others.TryGetValue(line.Subject, out FeelLine? match))
                    differences.Add(Of(kind, line, match));
            }
        }

        return new FeelComparisonResult(differences, sameReference ? [] : [new DifferentReferences(first.ReferenceName, second.ReferenceName)]);
    }

    /// <summary>Second − first of two independent figures.</summary>
    public static Estimate Minus(Estimate second, Estimate first)
    {
        double value = second.Value - first.Value;
        double down = Root(second.Value - second.Low, first.High - first.Value), up = Root(second.High - second.Value, first.Value - first.Low);
        return new Estimate(value, value - down, value + up);
    }

    internal static IEnumerable<SwingFigure> Whole(FeelReport report) =>
        report.Swing.GroupBy(figure => figure.Level).Select(level => level.First()).Where(figure => !figure.Doubts.OfType<SwingAndLayBackMixed>().Any());

    private static double Root(double a, double b) => Math.Sqrt((a * a) + (b * b));

    private static FeelDifference Swing(SwingFigure first, SwingFigure second)
    {
        Estimate ratio = Minus(second.Ratio, first.Ratio), delay = Minus(second.DelayMs, first.DelayMs);
        string level = FeelFigures.LevelName(first.Level), numbers = Text($"{second.Ratio.Value:0.00} : 1 against {first.Ratio.Value:0.00} : 1");
        string text = ratio.Low <= 0 && ratio.High >= 0
            ? Text($"The {level} are not told apart: {numbers}, a difference of {ratio.Low:+0.00;−0.00;0.00} to {ratio.High:+0.00;−0.00;0.00}.")
            : Text($"The {level} swing {(ratio.Value > 0 ? "more" : "less")} in the second: {numbers}, a difference of {ratio.Low:+0.00;−0.00;0.00} to {ratio.High:+0.00;−0.00;0.00}, {Math.Abs(delay.Value):0} ms in the off-beat{Below(Math.Abs(delay.Value), Audibility.SwingInGrooveMs)}.");
        return new FeelDifference(FeelFigures.Swing, level, first.Ratio, second.Ratio, ratio, Math.Abs(delay.Value) / Audibility.SwingInGrooveMs, text);
    }

    private static FeelDifference Of(FeelFigureKind kind, FeelLine first, FeelLine second)
    {
        Estimate difference = Minus(second.Value, first.Value);
        double? threshold = kind == FeelFigures.LayBack || kind == FeelFigures.Place || kind == FeelFigures.Habit ? Audibility.AsynchronyInGrooveMs
            : kind == FeelFigures.Accent || kind == FeelFigures.Ghosts ? LevelStepDb
            : null;
        string subject = $"{kind.Name}, {first.Subject}";
        string numbers = $"{kind.Format(second.Value.Value)} against {kind.Format(first.Value.Value)} {kind.Unit}";
        string signed = Text($"{Signed(kind, difference.Low)} to {Signed(kind, difference.High)}");
        string text = difference.Low <= 0 && difference.High >= 0
            ? $"{subject}: not told apart, {numbers} (a difference of {signed})."
            : $"{subject}: {WordOf(kind, difference.Value > 0)} in the second, {numbers}, a difference of {signed}{(threshold is { } least && kind != FeelFigures.Accent && kind != FeelFigures.Ghosts ? Below(Math.Abs(difference.Value), least) : "")}.";
        return new FeelDifference(kind, first.Subject, first.Value, second.Value, difference, threshold is { } t ? Math.Abs(difference.Value) / t : null, text);
    }

    /// <summary>What more, or less, of a figure means to a drummer.</summary>
    private static string WordOf(FeelFigureKind kind, bool more) => kind.Id switch
    {
        "lay-back" or "places" or "habits" => more ? "later" : "earlier",
        "looseness" or "together" => more ? "looser" : "tighter",
        "interval-spread" => more ? "less even" : "more even",
        "accents" => more ? "louder" : "softer",
        "ghosts" => more ? "farther below the full strokes" : "nearer to the full strokes",
        "flams" => more ? "wider" : "narrower",
        "hat-openness" => more ? "open more often" : "open less often",
        "tempo-drift" => more ? "gains more tempo" : "loses more tempo",
        _ => more ? "higher" : "lower",
    };

    private static string Signed(FeelFigureKind kind, double value) => value > 0 && !kind.ShowsSign ? "+" + kind.Format(value) : kind.Format(value);

    private static string Below(double ms, double threshold) =>
        ms < threshold ? Text($", below the {threshold:0} ms that listeners in one study could tell inside a groove") : "";
}
