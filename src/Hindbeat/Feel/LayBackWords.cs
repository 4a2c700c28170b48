using Hindbeat.Performances;
using static Hindbeat.Feel.FeelWords;

namespace Hindbeat.Feel;

/// <summary>Who lies behind, who ahead, who sits with the reference, in sentences; most telling first.</summary>
internal static class LayBackWords
{
    /// <summary>An interval that reaches farther than this, ms to either side, does not say where a piece lies.</summary>
    private const double WidestOfUseMs = 25;

    /// <summary>The largest sure lay-back in units of what listeners could tell inside a groove; 0 when none is sure.</summary>
    public static double Telling(FeelReport report) => Told(report)
        .Where(Apart).Select(figure => Math.Abs(figure.Milliseconds.Value) / Audibility.AsynchronyInGrooveMs).DefaultIfEmpty(0).Max();

    public static IEnumerable<string> Sure(FeelReport report)
    {
        LayBackFigure[] told = [.. Told(report).OrderByDescending(figure => Apart(figure) ? Math.Abs(figure.Milliseconds.Value) : -1)];
        if (told.Length == 0)
            yield break;
        yield return $"Late and early are measured against the {report.ReferenceName}, at places that do not swing.";
        bool said = false;
        foreach (LayBackFigure figure in told.Where(Apart))
        {
            double ms = figure.Milliseconds.Value;
            string heard = Math.Abs(ms) >= Audibility.AsynchronyInGrooveMs ? ""
                : said ? Text($", below those {Audibility.AsynchronyInGrooveMs:0} ms too")
                : Text($", below the {Audibility.AsynchronyInGrooveMs:0} ms that listeners in one study could tell inside a groove");
            said |= heard.Length > 0;
            yield return Text($"The {figure.Piece.Name()} lies {Math.Abs(ms):0.0} ms {(ms > 0 ? "behind" : "ahead")} {Interval(figure)}, {Math.Abs(100 * figure.Beats):0.0} % of a beat{heard}.");
        }

        LayBackFigure[] with = [.. told.Where(figure => !Apart(figure))];
        if (with.Length > 0)
            yield return $"The {Listing(with.Select(figure => $"{figure.Piece.Name()} {Interval(figure)}"))} {(with.Length == 1 ? "sits" : "sit")} with the {report.ReferenceName} as far as this passage can tell.";
    }

    public static IEnumerable<string> Unsure(FeelReport report)
    {
        string[] wide = [.. report.LayBack.Where(figure => figure.Identified && !OfUse(figure)).Select(figure => figure.Piece.Name())];
        if (wide.Length > 0)
            yield return $"Where the {Listing(wide)} {(wide.Length == 1 ? "lies" : "lie")} against the {report.ReferenceName} cannot be told: too few strokes for so much scatter.";
    }

    private static IEnumerable<LayBackFigure> Told(FeelReport report) => report.LayBack.Where(figure => figure.Identified && OfUse(figure));

    private static bool OfUse(LayBackFigure figure) => Apart(figure) || figure.Milliseconds.HalfWidth <= WidestOfUseMs;

    private static bool Apart(LayBackFigure figure) => figure.Milliseconds.Low > 0 || figure.Milliseconds.High < 0;

    private static string Interval(LayBackFigure figure) =>
        Text($"({figure.Milliseconds.Low:+0.0;−0.0;0.0} to {figure.Milliseconds.High:+0.0;−0.0;0.0} ms)");
}
