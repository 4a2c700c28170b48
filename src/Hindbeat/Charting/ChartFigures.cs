using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Performances;

namespace Hindbeat.Charting;

/// <summary>The measured figures as short phrases for the foot of a page, each with its 95 % interval.</summary>
internal static class ChartFigures
{
    public static List<string> Of(FeelReport feel)
    {
        var phrases = new List<string>();
        foreach (SwingFigure swing in feel.Swing.GroupBy(swing => swing.Level).Select(Whole))
        {
            string level = swing.Level == SwingLevel.Eighth ? "8ths" : "16ths";
            phrases.Add(Text($"swing of {level} {swing.Ratio.Value:0.00} : 1 ({swing.Ratio.Low:0.00} to {swing.Ratio.High:0.00}), {Word(swing.Verdict)}, {swing.Pairs} pairs"));
        }

        // The reference has no lay-back against itself, and what cannot be told is for the study, not for the page.
        foreach (LayBackFigure back in feel.LayBack.Where(back => back.Identified))
            phrases.Add(Text($"{back.Piece.Name()} {Signed(back.Milliseconds.Value)} ms ({Signed(back.Milliseconds.Low)} to {Signed(back.Milliseconds.High)})"));

        phrases.Insert(0, $"Measured against the {feel.ReferenceName}; + is late; in brackets 95 % intervals");
        return phrases;
    }

    /// <summary>A level's figure over all its pieces: the one with most pairs. Those of single pieces are for the study, not for the page.</summary>
    public static SwingFigure Whole(IEnumerable<SwingFigure> level) => level.MaxBy(swing => swing.Pairs)!;

    private static string Word(SwingVerdict verdict) => verdict switch
    {
        SwingVerdict.Straight => "straight",
        SwingVerdict.Swung => "swung",
        _ => "undecided",
    };

    private static string Signed(double milliseconds) =>
        Math.Abs(milliseconds) < 0.05 ? "0.0" : milliseconds.ToString("+0.0;\u22120.0", CultureInfo.InvariantCulture);

    private static string Text(FormattableString phrase) => phrase.ToString(CultureInfo.InvariantCulture);
}
