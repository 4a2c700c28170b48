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
    private const double RowHeight = 17;
    private const double DotsHeight = 9;
    private const double WordEm = 3.4;
    private const double FigureEm = 2.5;
    private const double TitleEm = 8.4;
    private const double DotEm = 7.6;

    /// <exception cref="InputException">The rows do not fit on the page.</exception>
    public static DisplayPage Draw(FoldedBar folded, string title, PageFormat format)
    {
        ArgumentNullException.ThrowIfNull(folded);
        ArgumentNullException.ThrowIfNull(title);
        ArgumentNullException.ThrowIfNull(format);
        KitPiece[] pieces = [.. folded.Places.Select(place => place.Piece).Distinct().OrderByDescending(piece => StaffMap.Guidelines.Place(piece).StepsAboveMiddle).ThenBy(piece => piece)];
        double top = format.TopMargin + 22;
        double bottom = top + (pieces.Length * RowHeight);
        if (!format.IsScroll && bottom + 16 > format.Height - format.BottomMargin)
            throw new InputException($"{pieces.Length} pieces need a taller page.");
        double left = format.SideMargin + LabelWidth;
        double right = format.Width - format.SideMargin;
        int beats = folded.Meter.BeatsPerBar;

        // Half an eighth of room at both ends, for what is played early on 1 and late at the end.
        double X(double beat) => left + ((beat + 0.25) / (beats + 0.5) * (right - left));

        double em = Math.Min(TitleEm, (right - format.SideMargin) / Math.Max(1e-3, TextFont.Width(title, TextCut.SemiBold)));
        var items = new List<DisplayItem> { new TextItem(InkRole.Text, title, TextCut.SemiBold, format.SideMargin, format.TopMargin + (em * 0.75), em) };
        DrawPlaces(items, folded.Meter, X, top, bottom, pieces.Length);
        for (int row = 0; row < pieces.Length; row++)
        {
            double y = top + (row * RowHeight);
            items.Add(new TextItem(InkRole.Text, pieces[row].Name(), TextCut.Regular, format.SideMargin, y + (DotsHeight / 2) + 1, WordEm));
            foreach (FoldedPlace place in folded.Places.Where(place => place.Piece == pieces[row]))
                DrawPlace(items, place, X, y, folded);
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
            Description = string.Create(CultureInfo.InvariantCulture, $"All bars of {title} laid on one bar of {folded.Meter}, a row a piece: {string.Join(", ", pieces.Select(piece => piece.Name()))}."),
        };
    }

    private static void DrawPlaces(List<DisplayItem> items, Meter meter, Func<double, double> x, double top, double bottom, int rows)
    {
        Fraction[] straight = meter.IsCompound ? [new(0), new(1, 3), new(2, 3)] : [new(0), new(1, 4), new(1, 2), new(3, 4)];
        for (int beat = 0; beat < meter.BeatsPerBar; beat++)
        {
            foreach (Fraction within in straight)
            {
                double at = x(beat + within.ToDouble());
                items.Add(new LineItem(InkRole.Staff, null, at, top - 1, at, bottom, within == 0 ? 0.22 : 0.09));
                if (CountWords.Of(meter, (new Fraction(beat) + within) * meter.BeatLength) is { } word)
                    items.Add(new TextItem(InkRole.Text, word, TextCut.Regular, at - (TextFont.Width(word, TextCut.Regular) * WordEm / 2), top - 2.5, WordEm));
            }

            for (int row = 0; row < rows && !meter.IsCompound; row++)
            {
                foreach (double third in new[] { 1.0 / 3, 2.0 / 3 })
                {
                    double at = x(beat + third);
                    items.Add(new LineItem(InkRole.Staff, null, at, top + (row * RowHeight) + DotsHeight - 1.2, at, top + (row * RowHeight) + DotsHeight + 1.2, 0.09));
                }
            }
        }
    }

    private static void DrawPlace(List<DisplayItem> items, FoldedPlace place, Func<double, double> x, double y, FoldedBar folded)
    {
        int first = folded.Places.Min(each => each.Strokes.Min(stroke => stroke.Bar));
        int last = folded.Places.Max(each => each.Strokes.Max(stroke => stroke.Bar));
        Box dot = MusicFont.Bounds(Smufl.AugmentationDot).Scaled(DotEm / MusicFont.SpacesPerEm);
        foreach (FoldedStroke stroke in place.Strokes)
        {
            double down = 1 + (last == first ? 0.5 : (double)(stroke.Bar - first) / (last - first)) * (DotsHeight - 2);
            items.Add(new GlyphItem(InkRole.Note, stroke.Hit, Smufl.AugmentationDot, x(stroke.Beats) - (dot.Left + (dot.Width / 2)), y + down - ((dot.Top + dot.Bottom) / 2), DotEm));
        }

        if (place.Mean is not { } mean || place.Late is not { } late)
            return;
        double at = y + DotsHeight + 1.2;
        items.Add(new LineItem(InkRole.Measure, null, x(mean.Low), at, x(mean.High), at, 0.4));
        items.Add(new LineItem(InkRole.Measure, null, x(mean.Value), at - 1.1, x(mean.Value), at + 1.1, 0.35));
        string words = string.Create(CultureInfo.InvariantCulture, $"{late.Value:+0;\u22120;0}");
        items.Add(new TextItem(InkRole.Measure, words, TextCut.Regular, x(mean.Value) - (TextFont.Width(words, TextCut.Regular) * FigureEm / 2), at + 3.6, FigureEm));
    }

    private static string Name(FoldedPlace place, FoldedStroke stroke) =>
        string.Create(CultureInfo.InvariantCulture, $"bar {stroke.Bar}, beat {place.Beat}{(place.Within == 0 ? "" : $" + {place.Within}")}: {place.Piece.Name()}");
}
