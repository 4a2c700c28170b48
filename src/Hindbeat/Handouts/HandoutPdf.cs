using System.Globalization;
using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Rebuilding;
using Hindbeat.Takes;
using Markdig;

namespace Hindbeat.Handouts;

/// <summary>The lesson on paper: chart, played over written, folded bar, then words and figures, as one PDF.</summary>
public static class HandoutPdf
{
    private const double Em = 3.9, Leading = 1.42, HeadingEm = 5.4, TitleEm = 8;

    /// <summary>The longest line, millimetres: some 75 letters.</summary>
    private const double Measure = 142;

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
        Chart chart = ChartMaker.Make(lesson.Performance, lesson.Feel, new ChartOptions { Title = lesson.Title, Subtitle = lesson.Teacher.Length > 0 ? lesson.Teacher : null });
        var pages = new List<DisplayPage>();
        if (lesson.Sections.HasFlag(LessonSections.Chart))
            pages.AddRange(Engraver.Engrave(chart, format));
        if (lesson.Sections.HasFlag(LessonSections.PlayedOverWritten))
            pages.AddRange(Engraver.Engrave(chart, format, new EngravingLook { PlayedOverWritten = true }));
        if (lesson.Sections.HasFlag(LessonSections.FoldedBar))
            pages.Add(FoldedBarPage.Draw(FoldedBar.Fold(lesson.Performance, lesson.Feel.Options.Seed), lesson.Title, format));
        pages.AddRange(TextPages(lesson, format));
        return [.. pages.Select((page, i) => page with { Number = i + 1, PageCount = pages.Count })];
    }

    private static List<DisplayPage> TextPages(Lesson lesson, PageFormat format)
    {
        var column = new Column(lesson.Title, format);
        column.Add(lesson.Title, TextCut.Regular, TitleEm, InkRole.Text, after: 3);
        if (lesson.Sections.HasFlag(LessonSections.Words))
        {
            foreach (string paragraph in Markdown.ToPlainText(lesson.Words).Split('\n', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries))
                column.Add(paragraph, TextCut.Regular, Em, InkRole.Text, after: 2);
        }

        if (lesson.Sections.HasFlag(LessonSections.Figures))
        {
            column.Heading("What was measured");
            foreach (string sentence in FeelWords.Describe(lesson.Feel))
                column.Add(sentence, TextCut.Regular, Em, InkRole.Text, after: 1.6);
            column.Add($"Measured against the {lesson.Feel.ReferenceName}; plus is late. The interval holds the true value nineteen times in twenty.", TextCut.Italic, 0.9 * Em, InkRole.Text, after: 3);
            foreach (FeelFigureKind kind in FeelFigures.All.Where(kind => !kind.IsDetailed))
            {
                foreach (FeelLine line in kind.Lines(lesson.Feel).Where(line => line.Known))
                    column.Row(kind.Name, line.Subject, $"{kind.Format(line.Value.Value)} {kind.Unit}", kind.FormatInterval(line.Value));
            }
        }

        if (lesson.Sections.HasFlag(LessonSections.Ladder))
        {
            column.Heading("Practise");
            column.Add(string.Join(", ", PracticeLadder.Make(lesson.Performance.Pulse.MeanTempo).Select(rung => string.Create(CultureInfo.InvariantCulture, $"{rung.Tempo.Value:0}"))) + " bpm. Climb when two takes in a row have every stroke and nothing stands out; after two bad ones, a step down.", TextCut.Regular, Em, InkRole.Text, after: 2);
            column.Add(PracticePlan.StrainCaution, TextCut.Italic, Em, InkRole.Measure, after: 1.6);
            column.Add(PracticeCare.Repetition, TextCut.Italic, Em, InkRole.Measure, after: 3);
        }

        if (lesson.Credits.Length > 0)
            column.Add(lesson.Credits, TextCut.Regular, 0.85 * Em, InkRole.Text, after: 1);
        return column.Pages();
    }

    /// <summary>Fills pages with lines of text from top to bottom.</summary>
    private sealed class Column(string title, PageFormat format)
    {
        private readonly List<List<DisplayItem>> _pages = [[]];
        private double _y = format.TopMargin;

        private double Width => Math.Min(Measure, format.Width - (2 * format.SideMargin));

        public void Heading(string text)
        {
            Room(HeadingEm + (3 * Em * Leading));
            _y += _pages[^1].Count > 0 ? 5 : 0;
            Add(text, TextCut.Italic, HeadingEm, InkRole.Text, after: 2);
        }

        public void Add(string text, TextCut cut, double em, InkRole role, double after)
        {
            foreach (string line in Wrap(text, cut, em))
            {
                Room(em * Leading);
                _y += em * Leading;
                _pages[^1].Add(new TextItem(role, line, cut, format.SideMargin, _y, em));
            }

            _y += after;
        }

        public void Row(string name, string subject, string value, string interval)
        {
            Room(Em * Leading);
            _y += Em * Leading;
            double x = format.SideMargin, size = 0.92 * Em;
            _pages[^1].Add(new TextItem(InkRole.Text, name, TextCut.Regular, x, _y, size));
            _pages[^1].Add(new TextItem(InkRole.Text, subject, TextCut.Regular, x + 38, _y, size));
            _pages[^1].Add(new TextItem(InkRole.Measure, value, TextCut.Regular, x + 124 - (TextFont.Width(value, TextCut.Regular) * size), _y, size));
            _pages[^1].Add(new TextItem(InkRole.Text, interval, TextCut.Regular, x + 130, _y, size));
        }

        public List<DisplayPage> Pages() => [.. _pages.Where(items => items.Count > 0).Select(items => new DisplayPage
        {
            Title = title,
            Number = 1,
            PageCount = 1,
            Width = format.Width,
            Height = format.Height,
            Ink = format.Ink,
            Items = items,
            StrokeNames = new Dictionary<int, string>(),
            Description = $"{title}: words and figures.",
        })];

        private void Room(double height)
        {
            if (_y + height <= format.Height - format.BottomMargin)
                return;
            _pages.Add([]);
            _y = format.TopMargin;
        }

        private IEnumerable<string> Wrap(string text, TextCut cut, double em)
        {
            string line = "";
            foreach (string word in text.Split(' ', StringSplitOptions.RemoveEmptyEntries))
            {
                string longer = line.Length == 0 ? word : $"{line} {word}";
                if (line.Length > 0 && TextFont.Width(longer, cut) * em > Width)
                {
                    yield return line;
                    line = word;
                }
                else
                {
                    line = longer;
                }
            }

            if (line.Length > 0)
                yield return line;
        }
    }
}
