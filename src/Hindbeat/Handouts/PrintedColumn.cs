using Hindbeat.Charting;

namespace Hindbeat.Handouts;

/// <summary>Words in one cut.</summary>
internal readonly record struct PrintedRun(string Text, TextCut Cut);

/// <summary>
/// Fills pages with a column of text from top to bottom, all measures in millimetres. A heading stays with what follows it, no paragraph leaves one line
/// alone at a page's foot or head, and of a table at least <see cref="FewestRows"/> rows come together, under its head.
/// </summary>
internal sealed class PrintedColumn(string title, PageFormat format)
{
    public const double Em = 3.9;

    private const double Leading = 1.42, HeadingEm = 5.4, TitleEm = 8, RowEm = 0.92 * Em;

    /// <summary>The longest line: some 75 letters.</summary>
    private const double Measure = 142;

    /// <summary>Of a table on a page.</summary>
    private const int FewestRows = 3;

    private readonly List<List<DisplayItem>> _pages = [[]];
    private double _y = format.TopMargin;
    private (string Text, double Indent)? _mark;

    private double Width => Math.Min(Measure, format.Width - (2 * format.SideMargin));

    private double Floor => format.Height - format.BottomMargin;

    public void Title(string text) => Paragraph(text, TextCut.SemiBold, TitleEm, InkRole.Text, after: 3);

    /// <param name="size">Share of a heading's usual size.</param>
    public void Heading(string text, double size = 1)
    {
        double em = size * HeadingEm;
        Room((em * Leading) + 7 + (3 * Em * Leading));
        _y += _pages[^1].Count > 0 ? 5 : 0;
        Paragraph([new PrintedRun(text, TextCut.Italic)], em, InkRole.Text, after: 2);
    }

    public void Space(double height) => _y += height;

    /// <summary>What stands before the next paragraph's first line: a number, a bullet.</summary>
    public void Mark(string text, double indent) => _mark = (text, indent);

    public void Paragraph(string text, TextCut cut, double em, InkRole role, double after) => Paragraph([new PrintedRun(text, cut)], em, role, after);

    public void Paragraph(IReadOnlyList<PrintedRun> runs, double em, InkRole role, double after, double indent = 0)
    {
        List<List<PrintedRun>> lines = Wrap(runs, em, Width - indent);
        double step = em * Leading;
        for (int i = 0; i < lines.Count; i++)
        {
            // Neither the first line alone at the foot nor the last alone at the head.
            int together = lines.Count > 1 && (i == 0 || i == lines.Count - 2) ? 2 : 1;
            if (i == 0 && lines.Count == 3)
                together = 3;
            Room(together * step);
            _y += step;
            if (i == 0 && _mark is var (mark, at))
                _pages[^1].Add(new TextItem(role, mark, TextCut.Regular, format.SideMargin + at, _y, em));
            _mark = null;
            double x = format.SideMargin + indent;
            foreach (PrintedRun run in lines[i])
            {
                if (run.Text.Trim().Length > 0)
                    _pages[^1].Add(new TextItem(role, run.Text, run.Cut, x, _y, em));
                x += TextFont.Width(run.Text, run.Cut) * em;
            }
        }

        _y += after;
    }

    /// <summary>Columns as wide as their longest cell.</summary>
    /// <param name="ends">Columns that are set flush right, for figures.</param>
    public void Table(IReadOnlyList<string[]> rows, bool hasHead, params int[] ends)
    {
        if (rows.Count == 0)
            return;
        int columns = rows.Max(row => row.Length);
        double[] widths = [.. Enumerable.Range(0, columns).Select(c => rows.Where(row => c < row.Length).Max(row => TextFont.Width(row[c], hasHead ? TextCut.SemiBold : TextCut.Regular)))];
        double gap = 6, size = Math.Min(RowEm, (format.Width - (2 * format.SideMargin) - (gap * (columns - 1))) / Math.Max(1e-3, widths.Sum())), step = Em * Leading;
        string[][] body = [.. rows.Skip(hasHead ? 1 : 0)];
        double head = hasHead ? step + 2 : 0;
        for (int from = 0; from < body.Length;)
        {
            int left = body.Length - from, fits = (int)((Floor - _y - head) / step), next = fits >= left ? left : Math.Min(fits, left - FewestRows);
            if (next < Math.Min(FewestRows, left) && _y > format.TopMargin)
            {
                NewPage();
                continue;
            }

            Head();
            for (int to = from + Math.Max(1, next); from < to; from++)
            {
                _y += step;
                Cells(body[from], TextCut.Regular);
            }
        }

        _y += 3;

        void Head()
        {
            if (!hasHead)
                return;
            _y += step;
            Cells(rows[0], TextCut.SemiBold);
            _y += 1.4;
            _pages[^1].Add(new LineItem(InkRole.Text, null, format.SideMargin, _y, format.SideMargin + (widths.Sum() * size) + (gap * (columns - 1)), _y, 0.2));
            _y += 0.6;
        }

        void Cells(string[] row, TextCut cut)
        {
            double x = format.SideMargin;
            for (int c = 0; c < row.Length; c++)
            {
                double inset = ends.Contains(c) ? (widths[c] - TextFont.Width(row[c], cut)) * size : 0;
                if (row[c].Length > 0)
                    _pages[^1].Add(new TextItem(InkRole.Text, row[c], cut, x + inset, _y, size));
                x += (widths[c] * size) + gap;
            }
        }
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
        if (_y + height > Floor && _pages[^1].Count > 0)
            NewPage();
    }

    private void NewPage()
    {
        _pages.Add([]);
        _y = format.TopMargin;
    }

    /// <summary>Lines of at most this width; words of one cut that follow each other are one run.</summary>
    private static List<List<PrintedRun>> Wrap(IReadOnlyList<PrintedRun> runs, double em, double width)
    {
        var lines = new List<List<PrintedRun>> { new() };
        double x = 0;
        foreach (PrintedRun run in runs)
        {
            if (run.Text == "\n")
            {
                lines.Add([]);
                x = 0;
                continue;
            }

            foreach (string word in Words(run.Text))
            {
                double wide = TextFont.Width(word.TrimEnd(), run.Cut) * em;
                if (x > 0 && x + wide > width)
                {
                    lines.Add([]);
                    x = 0;
                }

                string piece = x == 0 ? word.TrimStart() : word;
                List<PrintedRun> line = lines[^1];
                if (line.Count > 0 && line[^1].Cut == run.Cut)
                    line[^1] = new PrintedRun(line[^1].Text + piece, run.Cut);
                else
                    line.Add(new PrintedRun(piece, run.Cut));
                x += TextFont.Width(piece, run.Cut) * em;
            }
        }

        return lines;
    }

    /// <summary>Each word with the space after it.</summary>
    private static IEnumerable<string> Words(string text)
    {
        int from = 0;
        for (int i = 0; i < text.Length; i++)
        {
            if (text[i] == ' ' && i + 1 < text.Length && text[i + 1] != ' ')
            {
                yield return text[from..(i + 1)];
                from = i + 1;
            }
        }

        if (from < text.Length)
            yield return text[from..];
    }
}
