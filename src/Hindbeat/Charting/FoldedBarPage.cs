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

    /// <summary>Height of a line of figures under the means; a row has as many as its figures need.</summary>
    private const double FigureLine = 2.6;

    private const double RowGap = 3.2;
    private const double WordEm = 3.4;
    private const double WordAir = 0.6;
    private const double FigureEm = 2.5;
    private const double FigureAir = 0.4;
    private const double TitleEm = 8.4;

    /// <summary>One piece with what the page needs to draw it.</summary>
    /// <param name="Lines">Line of figures of each place, from 0.</param>
    private sealed record Row(KitPiece Piece, IReadOnlyList<FoldedPlace> Places, IReadOnlyList<int> Lines, double Top)
    {
        public double Height => MeansAt + 1.6 + ((Lines.Count == 0 ? 1 : Lines.Max() + 1) * FigureLine);

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
        double top = format.TopMargin + 22;
        double left = format.SideMargin + LabelWidth;
        double right = format.Width - format.SideMargin;
        int beats = folded.Meter.BeatsPerBar;

        // Half an eighth of room at both ends, for what is played early on 1 and late at the end.
        double X(double beat) => left + ((beat + 0.25) / (beats + 0.5) * (right - left));

        List<Row> rows = Rows(folded, X, top);
        double bottom = rows.Count == 0 ? top : rows[^1].Bottom;
        if (!format.IsScroll && bottom + 16 > format.Height - format.BottomMargin)
            throw new InputException($"{rows.Count} pieces need a taller page.");
        double em = Math.Min(TitleEm, (right - format.SideMargin) / Math.Max(1e-3, TextFont.Width(title, TextCut.SemiBold)));
        var items = new List<DisplayItem> { new TextItem(InkRole.Text, title, TextCut.SemiBold, format.SideMargin, format.TopMargin + (em * 0.75), em) };
        DrawPlaces(items, folded.Meter, X, top, bottom, rows);
        foreach (Row row in rows)
        {
            items.Add(new TextItem(InkRole.Text, row.Piece.Name(), TextCut.Regular, format.SideMargin, row.Top + (DotSwarm.Height / 2) + 1, WordEm));
            items.AddRange(DotSwarm.Draw(row.Places, X, row.Top, (FirstBar(folded), LastBar(folded))));
            for (int i = 0; i < row.Places.Count; i++)
                DrawMean(items, row.Places[i], X, row.Top + MeansAt, row.Lines[i]);
        }

        items.Add(new TextItem(
            InkRole.Measure, "A dot a stroke, earlier bars higher; below them the mean with its 95 % interval and how late it is in ms; long lines straight places, ticks triplet places.",
            TextCut.Italic, format.SideMargin, bottom + 10, FigureEm));
        return new DisplayPage
        {
            Title = title,
            Number = 1,
            PageCount = 1,
            Width = format.Width,
            Height = format.IsScroll ? bottom + 14 : format.Height,
            Ink = format.Ink,
            Items = items,
            StrokeNames = folded.Places.SelectMany(place => place.Strokes.Select(stroke => (stroke.Hit, Name: Name(place, stroke)))).ToDictionary(pair => pair.Hit, pair => pair.Name),
            Description = string.Create(CultureInfo.InvariantCulture, $"All bars of {title} laid on one bar of {folded.Meter}, a row a piece: {string.Join(", ", rows.Select(row => row.Piece.Name()))}."),
        };
    }

    private static int FirstBar(FoldedBar folded) => folded.Places.Min(place => place.Strokes.Min(stroke => stroke.Bar));

    private static int LastBar(FoldedBar folded) => folded.Places.Max(place => place.Strokes.Max(stroke => stroke.Bar));

    private static List<Row> Rows(FoldedBar folded, Func<double, double> x, double top)
    {
        var rows = new List<Row>();
        foreach (IGrouping<KitPiece, FoldedPlace> piece in folded.Places
            .GroupBy(place => place.Piece)
            .OrderByDescending(piece => StaffMap.Guidelines.Place(piece.Key).StepsAboveMiddle).ThenBy(piece => piece.Key))
        {
            FoldedPlace[] places = [.. piece.OrderBy(place => place.Mean?.Value ?? 0)];
            rows.Add(new Row(piece.Key, places, LinesOf(places, x), rows.Count == 0 ? top : rows[^1].Bottom + RowGap));
        }

        return rows;
    }

    /// <summary>Figures of near places (a 16th and a triplet) stand under one another.</summary>
    private static List<int> LinesOf(FoldedPlace[] places, Func<double, double> x)
    {
        var ends = new List<double>();
        var lines = new List<int>();
        foreach (FoldedPlace place in places)
        {
            if (place.Mean is not { } mean || place.Late is not { } late)
            {
                lines.Add(0);
                continue;
            }

            double half = TextFont.Width(Figure(late.Value), TextCut.Regular) * FigureEm / 2;
            double from = x(mean.Value) - half - FigureAir;
            int line = ends.FindIndex(end => end <= from);
            if (line < 0)
            {
                line = ends.Count;
                ends.Add(0);
            }

            ends[line] = x(mean.Value) + half;
            lines.Add(line);
        }

        return lines;
    }

    private static void DrawPlaces(List<DisplayItem> items, Meter meter, Func<double, double> x, double top, double bottom, IReadOnlyList<Row> rows)
    {
        Fraction[] straight = meter.IsCompound ? [new(0), new(1, 3), new(2, 3)] : [new(0), new(1, 4), new(1, 2), new(3, 4)];
        double free = double.NegativeInfinity;
        for (int beat = 0; beat < meter.BeatsPerBar; beat++)
        {
            foreach (Fraction within in straight)
            {
                double at = x(beat + within.ToDouble());
                items.Add(new LineItem(InkRole.Staff, null, at, top - 1, at, bottom, within == 0 ? 0.22 : 0.09));
                if (CountWords.Of(meter, (new Fraction(beat) + within) * meter.BeatLength) is not { } word)
                    continue;

                // Of a bar with many beats only those counts are printed that leave air for the next beat.
                double half = TextFont.Width(word, TextCut.Regular) * WordEm / 2;
                double next = x(beat + 1) - (within == 0 ? 0 : WordEm);
                if (at - half < free || (within != 0 && at + half > next))
                    continue;
                items.Add(new TextItem(InkRole.Text, word, TextCut.Regular, at - half, top - 2.5, WordEm));
                free = at + half + WordAir;
            }

            foreach (Row row in meter.IsCompound ? [] : rows)
            {
                foreach (double third in new[] { 1.0 / 3, 2.0 / 3 })
                {
                    double at = x(beat + third);
                    items.Add(new LineItem(InkRole.Staff, null, at, row.Top + DotSwarm.Height - 1.2, at, row.Top + DotSwarm.Height + 1.2, 0.09));
                }
            }
        }
    }

    private static void DrawMean(List<DisplayItem> items, FoldedPlace place, Func<double, double> x, double at, int line)
    {
        if (place.Mean is not { } mean || place.Late is not { } late)
            return;
        items.Add(new LineItem(InkRole.Measure, null, x(mean.Low), at, x(mean.High), at, 0.4));
        items.Add(new LineItem(InkRole.Measure, null, x(mean.Value), at - 1.1, x(mean.Value), at + 1.1, 0.35));
        string words = Figure(late.Value);
        items.Add(new TextItem(InkRole.Measure, words, TextCut.Regular, x(mean.Value) - (TextFont.Width(words, TextCut.Regular) * FigureEm / 2), at + 3.6 + (line * FigureLine), FigureEm));
    }

    private static string Figure(double late) => string.Create(CultureInfo.InvariantCulture, $"{late:+0;\u22120;0}");

    private static string Name(FoldedPlace place, FoldedStroke stroke) =>
        string.Create(CultureInfo.InvariantCulture, $"bar {stroke.Bar}, beat {place.Beat}{(place.Within == 0 ? "" : $" + {place.Within}")}: {place.Piece.Name()}");
}
