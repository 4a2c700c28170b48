using System.Globalization;
using System.Net;
using System.Reflection;
using System.Text;
using System.Text.Json;
using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Takes;
using Hindbeat.Units;

namespace Hindbeat.Handouts;

/// <summary>
/// The lesson as one HTML file: chart, words, figures and sound in it, nothing fetched, nothing sent. Without scripts chart
/// and text are there; printed, it is a sheet of paper.
/// </summary>
public static class LessonPage
{
    /// <summary>A lesson that is larger would not go through the post; see the remarks of <see cref="LessonSound"/>.</summary>
    public const int MostBytes = 8_000_000;

    private const double ChartMillimetres = 190;

    /// <param name="writer">Receives the whole document, UTF-8 declared.</param>
    /// <exception cref="InputException">The lesson has no strokes, or too many different sounds.</exception>
    public static void Write(Lesson lesson, TextWriter writer)
    {
        ArgumentNullException.ThrowIfNull(lesson);
        ArgumentNullException.ThrowIfNull(writer);
        if (lesson.Performance.Hits.Count == 0)
            throw new InputException("There are no strokes to make a lesson of.");
        bool sounds = lesson.Sections.HasFlag(LessonSections.Listening) && lesson.Versions.Count > 0;
        writer.Write($"""
            <!doctype html>
            <html lang="en">
            <head>
            <meta charset="utf-8">
            <meta name="viewport" content="width=device-width, initial-scale=1">
            <meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; base-uri 'none'; form-action 'none'">
            <title>{Html(lesson.Title)}</title>
            <style>{Resource("lesson.css")}</style>
            </head>
            <body>
            <header>
            <h1>{Html(lesson.Title)}</h1>
            <p class="by">{Html(ByLine(lesson))}</p>
            </header>
            <main>

            """);
        if (lesson.Sections.HasFlag(LessonSections.Words) && lesson.Words.Length > 0)
            writer.Write($"<section aria-label=\"From your teacher\">\n{LessonWords.InHtml(lesson.Words)}</section>\n");
        WriteCharts(lesson, writer);
        if (sounds)
            WritePlayer(lesson, writer);
        if (lesson.Sections.HasFlag(LessonSections.Figures))
            WriteFigures(lesson, writer);
        if (lesson.Sections.HasFlag(LessonSections.FoldedBar))
            WritePicture(writer, "All bars laid on one", "Every stroke a dot, a row for each piece, with its mean and the interval it lies in.", "f",
                [FoldedBarPage.Draw(FoldedBar.Fold(lesson.Performance, lesson.Feel.Options.Seed), lesson.Title, PageFormat.Scroll(ChartMillimetres))]);
        if (lesson.Sections.HasFlag(LessonSections.Ladder))
            WriteLadder(lesson, writer, sounds);
        writer.Write("</main>\n");
        WriteFooter(lesson, writer);
        if (sounds)
        {
            // "<" is the one character that could end a script element from within.
            string data = LessonSound.Write(lesson).ToJsonString(new JsonSerializerOptions()).Replace("<", "\\u003c", StringComparison.Ordinal);
            writer.Write($"<script type=\"application/json\" id=\"lesson-sound\">{data}</script>\n<script>{Resource("lesson.js")}</script>\n");
        }

        writer.Write("</body>\n</html>\n");
    }

    private static void WriteCharts(Lesson lesson, TextWriter writer)
    {
        var options = new ChartOptions { Title = lesson.Title, ShowFigures = false };
        Chart chart = ChartMaker.Make(lesson.Performance, lesson.Feel, options);
        if (lesson.Sections.HasFlag(LessonSections.Chart))
            WritePicture(writer, "The chart", "As it is written.", "w", Engraver.Engrave(chart, PageFormat.Scroll(ChartMillimetres)));
        if (lesson.Sections.HasFlag(LessonSections.PlayedOverWritten))
        {
            WritePicture(writer, "As it was played", "Every notehead stands where it was struck; the hairline behind it is its written place, its size says how loud it was.", "p",
                Engraver.Engrave(chart, PageFormat.Scroll(ChartMillimetres), new EngravingLook { PlayedOverWritten = true }));
        }
    }

    private static void WritePicture(TextWriter writer, string heading, string caption, string name, IReadOnlyList<DisplayPage> pages)
    {
        writer.Write($"<section>\n<h2>{Html(heading)}</h2>\n");
        foreach (DisplayPage page in pages)
        {
            writer.Write("<figure class=\"page\">\n");
            SvgPage.Write(page, writer, name);
            writer.Write("\n</figure>\n");
        }

        writer.Write($"<p><small>{Html(caption)}</small></p>\n</section>\n");
    }

    private static void WritePlayer(Lesson lesson, TextWriter writer)
    {
        writer.Write("""
            <section class="listen">
            <h2>Listen</h2>
            <p id="silent">The sound needs scripts, which are switched off here; chart and text do without.</p>
            <div class="player" id="player" hidden>
            <fieldset><legend>The same bars, and nothing else changed:</legend><div class="choices">

            """);
        for (int v = 0; v < lesson.Versions.Count; v++)
            writer.Write(string.Create(CultureInfo.InvariantCulture, $"<label><input type=\"radio\" name=\"version\" value=\"{v}\"{(v == 0 ? " checked" : "")}>{Html(lesson.Versions[v].Name)}</label>\n"));
        writer.Write("""
            </div></fieldset>
            <div class="row"><button id="play" type="button" aria-pressed="false">Play</button>
            <label>Bars <select id="from" aria-label="first bar"></select> to <select id="to" aria-label="last bar"></select></label>
            <label><input type="checkbox" id="again" checked> again and again</label>
            <label><input type="checkbox" id="count" checked> count-in</label>
            <label>Click <select id="click"><option value="none">none</option><option value="beats">every beat</option><option value="backbeats">2 and 4</option></select></label></div>
            <div class="row"><label>Tempo <input id="tempo" type="range" min="30" max="130" step="1" value="100"></label><output id="tempo-said" for="tempo"></output>
            <label>Volume <input id="volume" type="range" min="0" max="1" step="0.01" value="0.6"></label></div>

            """);
        writer.Write($"<p class=\"care\">{Html(PracticeCare.Loudness)}</p>\n</div>\n</section>\n");
    }

    private static void WriteFigures(Lesson lesson, TextWriter writer)
    {
        writer.Write("<section>\n<h2>What was measured</h2>\n");
        foreach (string sentence in FeelWords.Describe(lesson.Feel))
            writer.Write($"<p>{Html(sentence)}</p>\n");
        writer.Write($"<p><small>Measured against the {Html(lesson.Feel.ReferenceName)}; plus is late. The interval holds the true value nineteen times in twenty.</small></p>\n");
        writer.Write("<div class=\"wide\"><table>\n<thead><tr><th scope=\"col\">Figure</th><th scope=\"col\">Of</th><th scope=\"col\" class=\"number\">Value</th><th scope=\"col\">Unit</th><th scope=\"col\" class=\"number\">Interval</th></tr></thead>\n<tbody>\n");
        foreach (FeelFigureKind kind in FeelFigures.All.Where(kind => !kind.IsDetailed))
        {
            foreach (FeelLine line in kind.Lines(lesson.Feel).Where(line => line.Known))
                writer.Write($"<tr><td>{Html(kind.Name)}</td><td>{Html(line.Subject)}</td><td class=\"number\">{Html(kind.Format(line.Value.Value))}</td><td>{Html(kind.Unit)}</td><td class=\"number\">{Html(kind.FormatInterval(line.Value))}</td></tr>\n");
        }

        writer.Write("</tbody>\n</table></div>\n</section>\n");
    }

    private static void WriteLadder(Lesson lesson, TextWriter writer, bool sounds)
    {
        writer.Write("<section>\n<h2>Practise</h2>\n<p>From slow to a little above the passage's own tempo. " + PracticeLadder.Rule + "</p>\n<ol class=\"ladder\">\n");
        foreach (Rung rung in PracticeLadder.Make(lesson.Performance.Pulse.MeanTempo))
        {
            string words = string.Create(CultureInfo.InvariantCulture, $"{rung.Tempo.Value:0} bpm, {100 * rung.Share:0} %");
            string button = sounds ? string.Create(CultureInfo.InvariantCulture, $" <button type=\"button\" hidden data-tempo=\"{100 * rung.Share:0}\">set {rung.Tempo.Value:0} bpm</button>") : "";
            writer.Write($"<li>{words}{button}</li>\n");
        }

        writer.Write($"</ol>\n<p class=\"care\">{Html(PracticeCare.Strain)} {Html(PracticeCare.Repetition)}</p>\n</section>\n");
    }

    private static void WriteFooter(Lesson lesson, TextWriter writer)
    {
        writer.Write("<footer>\n");
        if (lesson.Credits.Length > 0)
            writer.Write($"<p>{Html(lesson.Credits)}</p>\n");
        if (lesson.KitCredit.Length > 0)
            writer.Write($"<p>{Html(lesson.KitCredit)}</p>\n");
        writer.Write("<p>Made with Hindbeat. Everything is in this one file; it opens without a network and sends nothing.</p>\n</footer>\n");
    }

    private static string ByLine(Lesson lesson)
    {
        Pulse pulse = lesson.Performance.Pulse;
        int bars = lesson.Performance.PlacedHits().Select(placed => placed.Position.Bar).Distinct().Count();
        string passage = string.Create(CultureInfo.InvariantCulture, $"{NumberWords.Bars(bars)} of {pulse.Meter} at {pulse.MeanTempo.Value:0} bpm");
        return lesson.Teacher.Length > 0 ? $"{lesson.Teacher} · {passage}" : passage;
    }

    private static string Resource(string name)
    {
        using Stream stream = Assembly.GetExecutingAssembly().GetManifestResourceStream("Hindbeat.Handouts." + name)
            ?? throw new InvalidOperationException($"The engine was built without {name}.");
        using var reader = new StreamReader(stream, Encoding.UTF8);
        return reader.ReadToEnd();
    }

    private static string Html(string text) => WebUtility.HtmlEncode(text);
}
