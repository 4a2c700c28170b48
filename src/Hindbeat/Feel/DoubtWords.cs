using Hindbeat.Performances;
using static Hindbeat.Feel.FeelWords;

namespace Hindbeat.Feel;

/// <summary>The doubts of a report in sentences: those that say the same of several pieces become one.</summary>
internal static class DoubtWords
{
    public static IEnumerable<string> Of(FeelReport report)
    {
        Doubt[] all =
        [
            .. report.Doubts,
            .. report.Swing.SelectMany(figure => figure.Doubts),
            .. report.LayBack.SelectMany(figure => figure.Doubts),
            .. report.Looseness.SelectMany(figure => figure.Doubts),
        ];
        TooFewStrokes[] seldom = [.. all.OfType<TooFewStrokes>().Distinct()];
        StrayStrokes[] strays = [.. all.OfType<StrayStrokes>().Distinct()];

        // Sentences about swing and lay-back say these themselves.
        foreach (Doubt doubt in all.Where(doubt => doubt is not (SwingBelowHearing or SwingUndecided or IsTheReference or TooFewStrokes or StrayStrokes)).Distinct())
            yield return doubt.Text;
        if (seldom.Length == 1)
            yield return seldom[0].Text;
        else if (seldom.Length > 1)
            yield return $"Struck too seldom to say whether they lie ahead or behind are the {Listing(seldom.Select(doubt => $"{doubt.Piece.Name()} ({Times(doubt.Strokes)})"))}.";
        if (strays.Length == 1)
            yield return strays[0].Text;
        else if (strays.Length > 1)
            yield return $"{Capital(Listing(strays.Select(doubt => $"{Number(doubt.Strokes)} of the {doubt.Piece.Name()}")))} lie far from the rest of their strokes and were not counted; they may be misheard or written at the wrong place.";
    }

    private static string Times(int count) => count == 1 ? "once" : count == 2 ? "twice" : Text($"{count} times");

    private static string Number(int count) => count == 1 ? "one stroke" : Text($"{count} strokes");

    private static string Capital(string words) => char.ToUpperInvariant(words[0]) + words[1..];
}
