using System.Globalization;
using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Rebuilding;
using Hindbeat.Takes;

namespace Hindbeat.Handouts;

/// <summary>
/// The lesson on paper, as one PDF: chart, played over written, folded bar, then words, what to practise and figures. The title stands once, at the top;
/// every page has it at its foot, with its number.
/// </summary>
public static class HandoutPdf
{
    private const double Em = PrintedColumn.Em, FootEm = 3.1;

    public static void Write(Lesson lesson, PageFormat format, Stream stream)
    {
        ArgumentNullException.ThrowIfNull(lesson);
        PdfPages.Write(Pages(lesson, format), stream);
    }

    /// <summary>The pages in order, for any writer.</summary>
    public static IReadOnlyList<DisplayPage> Pages(Lesson lesson, PageFormat format)
    {
        ArgumentNullException.ThrowIfNull(lesson);
        ArgumentNullException.ThrowIfNull(format);
        format = format with { NumbersPages = false };
        var pages = new List<DisplayPage>();
        if (lesson.Sections.HasFlag(LessonSections.Chart))
            pages.AddRange(Engraver.Engrave(ChartOf(lesson, lesson.Title, lesson.Teacher), format));
        if (lesson.Sections.HasFlag(LessonSections.PlayedOverWritten))
        {
            Chart played = ChartOf(lesson, pages.Count == 0 ? lesson.Title : "As it was played", "Each notehead where it was struck, larger where louder; the hairline behind it is its written place.");
            pages.AddRange(Engraver.Engrave(played, format, new EngravingLook { PlayedOverWritten = true }));
        }

        if (lesson.Sections.HasFlag(LessonSections.FoldedBar))
            pages.Add(FoldedBarPage.Draw(FoldedBar.Fold(lesson.Performance, lesson.Feel.Options.Seed), pages.Count == 0 ? lesson.Title : "All bars laid on one", format));
        pages.AddRange(TextPages(lesson, format, withTitle: pages.Count == 0));
        return [.. pages.Select((page, i) => page with { Title = lesson.Title, Number = i + 1, PageCount = pages.Count, Items = [.. page.Items, .. Foot(lesson.Title, i + 1, pages.Count, format)] })];
    }

    private static Chart ChartOf(Lesson lesson, string title, string subtitle) =>
        ChartMaker.Make(lesson.Performance, lesson.Feel, new ChartOptions { Title = title, Subtitle = subtitle.Length > 0 ? subtitle : null });

    /// <summary>Title and number in the lower margin; the first page has its title at the top.</summary>
    private static IEnumerable<DisplayItem> Foot(string title, int number, int of, PageFormat format)
    {
        if (of == 1)
            yield break;
        double y = format.Height - (format.BottomMargin / 2);
        string folio = string.Create(CultureInfo.InvariantCulture, $"{number} / {of}");
        double folioWidth = TextFont.Width(folio, TextCut.Regular) * FootEm, room = format.Width - (2 * format.SideMargin) - folioWidth - 8;
        yield return new TextItem(InkRole.Text, folio, TextCut.Regular, format.Width - format.SideMargin - folioWidth, y, FootEm);
        if (number > 1)
            yield return new TextItem(InkRole.Text, title, TextCut.Italic, format.SideMargin, y, Math.Min(FootEm, room / Math.Max(1e-3, TextFont.Width(title, TextCut.Italic))));
    }

    private static List<DisplayPage> TextPages(Lesson lesson, PageFormat format, bool withTitle)
    {
        var column = new PrintedColumn(lesson.Title, format);
        if (withTitle)
            column.Title(lesson.Title);
        if (lesson.Sections.HasFlag(LessonSections.Words))
            LessonWords.Print(lesson.Words, column);
        if (lesson.Sections.HasFlag(LessonSections.Ladder))
        {
            column.Heading("Practise");
            column.Paragraph(string.Join(", ", PracticeLadder.Make(lesson.Performance.Pulse.MeanTempo).Select(rung => string.Create(CultureInfo.InvariantCulture, $"{rung.Tempo.Value:0}"))) + " bpm. " + PracticeLadder.Rule, TextCut.Regular, Em, InkRole.Text, after: 2);
            column.Paragraph(PracticeCare.Strain, TextCut.Italic, Em, InkRole.Measure, after: 1.6);
            column.Paragraph(PracticeCare.Repetition, TextCut.Italic, Em, InkRole.Measure, after: 3);
        }

        if (lesson.Sections.HasFlag(LessonSections.Figures))
            Figures(lesson, column);
        if (lesson.Credits.Length > 0)
            column.Paragraph(lesson.Credits, TextCut.Regular, 0.85 * Em, InkRole.Text, after: 1);
        return column.Pages();
    }

    private static void Figures(Lesson lesson, PrintedColumn column)
    {
        column.Heading("What was measured");
        foreach (string sentence in FeelWords.Describe(lesson.Feel))
            column.Paragraph(sentence, TextCut.Regular, Em, InkRole.Text, after: 1.6);
        column.Paragraph($"Measured against the {lesson.Feel.ReferenceName}; plus is late. The interval holds the true value nineteen times in twenty.", TextCut.Italic, 0.9 * Em, InkRole.Text, after: 3);
        string[][] rows =
        [
            ["Figure", "Of", "Value", "", "Interval"],
            .. FeelFigures.All.Where(kind => !kind.IsDetailed).SelectMany(kind => kind.Lines(lesson.Feel).Where(line => line.Known)
                .Select(line => new[] { kind.Name, line.Subject, kind.Format(line.Value.Value), kind.Unit, kind.FormatInterval(line.Value) })),
        ];
        column.Table(rows, hasHead: true, 2, 4);
    }
}
