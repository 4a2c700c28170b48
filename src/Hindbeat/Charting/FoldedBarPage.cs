using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>
/// The folded bar as a page: all bars laid on one, a row a piece, a dot a stroke (earlier bars higher), the mean of
/// each place with its 95 % interval below the dots, lines at the straight places and ticks at the triplet places.
/// </summary>
public static class FoldedBarPage
{
    private const double LabelWidth = 24;

    /// <summary>From the top of a row to the line of its means.</summary>
    private const double MeansAt = DotSwarm.Height + 1.2;

    private const double RowGap = 3.2;
    private const double WordEm = 3.4;

    /// <summary>One piece with what the page needs to draw it.</summary>
    /// <param name="Lines">Line of figures of each place, from 0.</param>
    private sealed record Row(KitPiece Piece, IReadOnlyList<FoldedPlace> Places, IReadOnlyList<int> Lines, double Top)
    {
        public double Height => MeansAt + 1.6 + ((Lines.Count == 0 ? 1 : Lines.Max() + 1) * FoldedBarGrid.FigureLine);

        public double Bottom => Top + Height;
    }

    /// <exception cref="InputException">The rows do not fit on the page.</exception>
    public static DisplayPage Draw(FoldedBar folded, string title, PageFormat format)
    {
        ArgumentNullException.ThrowIfNull(folded);
        ArgumentNullException.ThrowIfNull(title);
        ArgumentNullException.ThrowIfNull(format);
        // Strokes beyond the bar are of bars in a longer meter.
        folded = folded with { Places = [.. folded.Places.Where(place => place.Beat <= folded.Meter.BeatsPerBar)] };
        // The page around a scroll has a title of its own.
        double top = format.TopMargin + (format.IsScroll ? 8 : 22);
        double right = format.Width - format.SideMargin;
        var grid = new FoldedBarGrid(folded.Meter, format.SideMargin + LabelWidth, right);
        List<Row> rows = Rows(folded, grid.X, top);
        double bottom = rows.Count == 0 ? top : rows[^1].Bottom;
        if (!format.IsScroll && bottom + 16 > format.Height - format.BottomMargin)
            throw new InputException($"{rows.Count} pieces need a taller page.");
        List<DisplayItem> items = format.IsScroll ? [] : [SinglePage.Title(title, format)];
        grid.Draw(items, top, [.. rows.Select(row => (row.Top, row.Top + MeansAt + 1.1, row.Top + DotSwarm.Height))]);
        foreach (Row row in rows)
        {
            items.Add(new TextItem(InkRole.Text, row.Piece.Name(), TextCut.Regular, format.SideMargin, row.Top + (DotSwarm.Height / 2) + 1, WordEm));
            items.AddRange(DotSwarm.Draw(row.Places, grid.X, row.Top, (FirstBar(folded), LastBar(folded))));
            for (int i = 0; i < row.Places.Count; i++)
                DrawMean(items, row.Places[i], grid.X, row.Top + MeansAt, row.Lines[i]);
        }

        items.Add(new TextItem(
            InkRole.Measure, "A dot a stroke, earlier bars higher; below them the mean with its 95 % interval and how late it is in ms; long lines straight places, ticks triplet places.",
            TextCut.Italic, format.SideMargin, bottom + 10, FoldedBarGrid.FigureEm));
        return SinglePage.Of(
            title, format, format.IsScroll ? bottom + 14 : format.Height, items,
            folded.Places.SelectMany(place => place.Strokes.Select(stroke => (stroke.Hit, Name: Name(place, stroke)))).ToDictionary(pair => pair.Hit, pair => pair.Name),
            string.Create(CultureInfo.InvariantCulture, $"All bars of {title} laid on one bar of {folded.Meter}, a row a piece: {string.Join(", ", rows.Select(row => row.Piece.Name()))}."));
    }

    private static int FirstBar(FoldedBar folded) => folded.Places.Min(place => place.Strokes.Min(stroke => stroke.Bar));

    private static int LastBar(FoldedBar folded) => folded.Places.Max(place => place.Strokes.Max(stroke => stroke.Bar));

    private static List<Row> Rows(FoldedBar folded, Func<double, double> x, double top)
    {
        var rows = new List<Row>();
        foreach (IGrouping<KitPiece, FoldedPlace> piece in SinglePage.ByPiece(folded.Places, place => place.Piece))
        {
            FoldedPlace[] places = [.. piece.OrderBy(place => place.Mean?.Value ?? 0)];
            rows.Add(new Row(piece.Key, places, FoldedBarGrid.FigureLines([.. places.Select(place => place is { Mean: { } mean, Late: { } late } ? (x(mean.Value), FoldedBarGrid.Figure(late.Value)) : ((double, string)?)null)]), rows.Count == 0 ? top : rows[^1].Bottom + RowGap));
        }

        return rows;
    }

    private static void DrawMean(List<DisplayItem> items, FoldedPlace place, Func<double, double> x, double at, int line)
    {
        if (place.Mean is not { } mean || place.Late is not { } late)
            return;
        items.Add(new LineItem(InkRole.Measure, null, x(mean.Low), at, x(mean.High), at, 0.4));
        items.Add(new LineItem(InkRole.Measure, null, x(mean.Value), at - 1.1, x(mean.Value), at + 1.1, 0.35));
        string words = FoldedBarGrid.Figure(late.Value);
        items.Add(new TextItem(InkRole.Measure, words, TextCut.Regular, x(mean.Value) - (TextFont.Width(words, TextCut.Regular) * FoldedBarGrid.FigureEm / 2), at + 3.6 + (line * FoldedBarGrid.FigureLine), FoldedBarGrid.FigureEm));
    }

    private static string Name(FoldedPlace place, FoldedStroke stroke) =>
        string.Create(CultureInfo.InvariantCulture, $"bar {stroke.Bar}, beat {place.Beat}{(place.Within == 0 ? "" : $" + {place.Within}")}: {place.Piece.Name()}");
}
