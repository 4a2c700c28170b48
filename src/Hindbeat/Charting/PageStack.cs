using System.Globalization;

namespace Hindbeat.Charting;

/// <summary>Stacks systems on pages: the title on the first, key and figures on the last, page numbers when there are several.</summary>
internal sealed class PageStack
{
    private const double TitleEm = 8.4;
    private const double SubtitleEm = 4.0;
    private const double FigureEm = 3.1;
    private const double FigureLeading = 4.4;
    private const double FolioEm = 3.0;
    private const double KeyGap = 4.0;

    private readonly Chart _chart;
    private readonly PageFormat _format;
    private readonly double _space;
    private readonly List<List<DisplayItem>> _pages = [];
    private readonly List<(int Page, PageBookmark Mark)> _bookmarks = [];
    private readonly List<(SystemInk Ink, double Y)> _pending = [];
    private double _bottom;
    private double _gap;

    public PageStack(Chart chart, PageFormat format, double space)
    {
        _chart = chart;
        _format = format;
        _space = space;
        _pages.Add([]);
        _bottom = format.IsScroll ? 0 : DrawTitle();
    }

    private double Floor => _format.Height - _format.BottomMargin;

    /// <summary>Adds a system under what stands, or at the top of a new page when it does not fit.</summary>
    public void AddSystem(SystemInk system, double gap, double mostExtra)
    {
        _gap = mostExtra * _space;
        double top = _bottom + (_pending.Count == 0 && (_pages.Count > 1 || _format.IsScroll) ? 0 : gap * _space);
        if (_pending.Count > 0 && top + (system.Extent.Height * _space) > Floor)
        {
            Flush(spread: true);
            _pages.Add([]);
            top = _format.TopMargin;
        }

        double y = top - (system.Extent.Top * _space);
        _pending.Add((system, y));
        _bottom = y + (system.Extent.Bottom * _space);
    }

    /// <summary>Adds key and figures, together, after the last system.</summary>
    public void AddClosing(IReadOnlyList<SystemInk> key, IReadOnlyList<string> figures)
    {
        List<string> lines = Wrap(figures);
        double keyScale = 0.78 * _space;
        double height = key.Sum(block => (block.Extent.Height * keyScale) + (KeyGap * _space)) + (lines.Count * FigureLeading) + (lines.Count > 0 ? 6 : 0);
        bool newPage = _bottom + height > Floor;
        Flush(spread: newPage);
        if (newPage)
        {
            _pages.Add([]);
            _bottom = _format.TopMargin;
        }

        if (key.Count > 0)
            _bookmarks.Add((_pages.Count - 1, new PageBookmark("Key", _bottom)));
        foreach (SystemInk block in key)
        {
            double y = _bottom + (KeyGap * _space) - (block.Extent.Top * keyScale);
            Place(block, y, keyScale);
            _bottom = y + (block.Extent.Bottom * keyScale);
        }

        if (lines.Count == 0)
            return;
        double first = _format.IsScroll ? _bottom + 6 + FigureLeading : Floor - ((lines.Count - 1) * FigureLeading) - 1;
        _pages[^1].Add(new LineItem(InkRole.Measure, null, _format.SideMargin, first - 4.6, _format.SideMargin + 24, first - 4.6, 0.35));
        for (int i = 0; i < lines.Count; i++)
            _pages[^1].Add(new TextItem(InkRole.Measure, lines[i], TextCut.Regular, _format.SideMargin, first + (i * FigureLeading), FigureEm));
        _bottom = first + ((lines.Count - 1) * FigureLeading);
    }

    public IReadOnlyList<DisplayPage> Finish(IReadOnlyDictionary<int, string> names, string description)
    {
        Flush(spread: false);
        for (int i = 0; i < _pages.Count && _pages.Count > 1 && _format.NumbersPages; i++)
        {
            string folio = string.Create(CultureInfo.InvariantCulture, $"{i + 1} / {_pages.Count}");
            double width = TextFont.Width(folio, TextCut.Regular) * FolioEm;
            _pages[i].Add(new TextItem(InkRole.Text, folio, TextCut.Regular, _format.Width - _format.SideMargin - width, _format.Height - (_format.BottomMargin / 2), FolioEm));
        }

        return [.. _pages.Select((items, i) => new DisplayPage
        {
            Title = _chart.Title,
            Number = i + 1,
            PageCount = _pages.Count,
            Width = _format.Width,
            // A space of air, so that nothing touches the edge.
            Height = _format.IsScroll ? _bottom + _space : _format.Height,
            Ink = _format.Ink,
            Items = items,
            Bookmarks = [.. _bookmarks.Where(pair => pair.Page == i).Select(pair => pair.Mark)],
            StrokeNames = names,
            Description = description,
        })];
    }

    private double DrawTitle()
    {
        double room = _format.Width - (2 * _format.SideMargin);
        double em = Math.Min(TitleEm, room / Math.Max(1e-3, TextFont.Width(_chart.Title, TextCut.SemiBold)));
        double y = _format.TopMargin + (em * 0.75);
        _pages[0].Add(new TextItem(InkRole.Text, _chart.Title, TextCut.SemiBold, _format.SideMargin, y, em));
        if (!string.IsNullOrWhiteSpace(_chart.Subtitle))
        {
            double small = Math.Min(SubtitleEm, room / Math.Max(1e-3, TextFont.Width(_chart.Subtitle, TextCut.Italic)));
            y += 6.4;
            _pages[0].Add(new TextItem(InkRole.Text, _chart.Subtitle, TextCut.Italic, _format.SideMargin, y, small));
        }

        y += 4.2;
        _pages[0].Add(new LineItem(InkRole.Measure, null, _format.SideMargin, y, _format.SideMargin + 24, y, 0.5));
        return y;
    }

    /// <summary>Puts the waiting systems on the current page; a full page opens its gaps to reach the bottom margin.</summary>
    private void Flush(bool spread)
    {
        double extra = spread && _pending.Count > 1
            ? Math.Clamp((Floor - _bottom) / (_pending.Count - 1), 0, _gap)
            : 0;
        for (int i = 0; i < _pending.Count; i++)
        {
            double y = _pending[i].Y + (i * extra);
            if (_pending[i].Ink.Name is { } name)
                _bookmarks.Add((_pages.Count - 1, new PageBookmark(name, y + (_pending[i].Ink.Extent.Top * _space))));
            Place(_pending[i].Ink, y, _space);
        }

        _pending.Clear();
    }

    private void Place(SystemInk ink, double y, double scale) =>
        _pages[^1].AddRange(ink.Items.Select(item => item.Placed(scale, _format.SideMargin, y)));

    private List<string> Wrap(IReadOnlyList<string> phrases)
    {
        double room = (_format.Width - (2 * _format.SideMargin)) / FigureEm;
        var lines = new List<string>();
        string line = "";
        foreach (string phrase in phrases)
        {
            string longer = line.Length == 0 ? phrase : line + "  \u00b7  " + phrase;
            if (line.Length > 0 && TextFont.Width(longer, TextCut.Regular) > room)
            {
                lines.Add(line);
                longer = phrase;
            }

            line = longer;
        }

        if (line.Length > 0)
            lines.Add(line);
        return lines;
    }
}
