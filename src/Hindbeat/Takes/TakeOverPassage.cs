using System.Globalization;
using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Performances;

namespace Hindbeat.Takes;

/// <summary>
/// A take laid over its passage on one bar, a row a piece: the passage's strokes are dots above the row's line, the take's are
/// circles below it, on the same bar; the means with their 95 % intervals meet at the line, and under it stands how much later the take is.
/// </summary>
/// <remarks>
/// Both are laid so that the pieces that everything is measured against fall together on average, where they do not swing: a take's own pulse is
/// known no better than they are, and the numbers on the page are then those of the report.
/// In <see cref="DisplayPage.StrokeNames"/> and <see cref="DisplayItem.Hit"/> the passage's strokes have their index in the passage,
/// the take's theirs in the take plus the number of the passage's strokes.
/// </remarks>
public static class TakeOverPassage
{
    private const double LabelWidth = 24, RowGap = 4, WordEm = 3.4, SmallEm = 2.5, KeyDotEm = 7.6;

    /// <summary>From the row's top to its line, where the means meet; the take's dots start as far below it.</summary>
    private const double LineAt = DotSwarm.Height + 1.6;

    private const double TakeAt = LineAt + 1.6;

    private sealed record Slot(FoldedPlace? Passage, FoldedPlace? Take)
    {
        public FoldedPlace Either => Passage ?? Take!;

        /// <summary>Take − passage, ms; null where one of them is too seldom struck.</summary>
        public double? Later => Passage?.Late is { } first && Take?.Late is { } second ? second.Value - first.Value : null;
    }

    private sealed record Row(KitPiece Piece, IReadOnlyList<Slot> Slots, IReadOnlyList<int> Lines, double Top)
    {
        public double FiguresAt => Top + TakeAt + DotSwarm.Height + 2.8;

        public double Bottom => FiguresAt + 0.6 + ((Lines.Count == 0 ? 0 : Lines.Max()) * FoldedBarGrid.FigureLine);
    }

    /// <param name="passage">What the take was compared with.</param>
    /// <param name="result">Its comparison (<see cref="TakeComparison"/>); figures that it reports are set bold.</param>
    /// <param name="format">Where more pieces are played than fit on its page, the page grows: a picture of some is of no use.</param>
    public static DisplayPage Draw(Performance passage, TakeComparisonResult result, string title, PageFormat format)
    {
        ArgumentNullException.ThrowIfNull(passage);
        ArgumentNullException.ThrowIfNull(result);
        ArgumentNullException.ThrowIfNull(title);
        ArgumentNullException.ThrowIfNull(format);
        double top = format.TopMargin + 29, right = format.Width - format.SideMargin;
        var grid = new FoldedBarGrid(passage.Meter, format.SideMargin + LabelWidth, right);
        FoldedBar first = FoldedBar.Fold(passage, result.Reference.Options.Seed);
        FoldedBar second = Laid(FoldedBar.Fold(result.Take.Performance, result.Reference.Options.Seed), passage, result);
        List<Row> rows = Rows(first, second, grid, top);
        double bottom = rows.Count == 0 ? top : rows[^1].Bottom;
        var items = new List<DisplayItem> { SinglePage.Title(title, format) };
        items.AddRange(Key(format.SideMargin, format.TopMargin + 15));
        grid.Draw(items, top, [.. rows.Select(row => (row.Top, row.Top + TakeAt + DotSwarm.Height, row.Top + LineAt))]);
        foreach (Row row in rows)
            DrawRow(items, row, grid, result, format.SideMargin, passage.Hits.Count);
        string caption = $"Earlier bars higher. Numbers: ms by which the take is later (−: earlier), bold where chance alone would hardly show it; the {result.Reference.ReferenceName} fall together.";
        items.Add(new TextItem(InkRole.Text, caption, TextCut.Italic, format.SideMargin, bottom + 7, Math.Min(SmallEm, (right - format.SideMargin) / TextFont.Width(caption, TextCut.Italic))));
        double height = format.IsScroll ? bottom + 11 : Math.Max(format.Height, bottom + 12 + format.BottomMargin);
        return SinglePage.Of(title, format, height, items, Names(first, second, passage.Hits.Count), Describe(rows));
    }

    /// <summary>The take's strokes shifted so that the reference's pieces fall where the passage's do.</summary>
    private static FoldedBar Laid(FoldedBar take, Performance passage, TakeComparisonResult result)
    {
        double beats = new PairedLateness(result.Take, passage, result.Reference).OfReference ?? 0;
        double scale = passage.Pulse.MeanTempo.Beat / result.Take.Performance.Pulse.MeanTempo.Beat, ms = beats * passage.Pulse.MeanTempo.Beat.Milliseconds;
        return take with
        {
            Places = [.. take.Places.Select(place => place with
            {
                Strokes = [.. place.Strokes.Select(stroke => stroke with { Beats = stroke.Beats - beats })],
                Mean = place.Mean is { } mean ? new Estimate(mean.Value - beats, mean.Low - beats, mean.High - beats) : null,
                Late = place.Late is { } late ? new Estimate((scale * late.Value) - ms, (scale * late.Low) - ms, (scale * late.High) - ms) : null,
            })],
        };
    }

    private static List<Row> Rows(FoldedBar first, FoldedBar second, FoldedBarGrid grid, double top)
    {
        IEnumerable<FoldedPlace> Inside(FoldedBar bar) => bar.Places.Where(place => place.Beat <= first.Meter.BeatsPerBar);
        var takes = Inside(second).ToDictionary(place => (place.Piece, place.Beat, place.Within));
        var slots = Inside(first).Select(place => new Slot(place, takes.GetValueOrDefault((place.Piece, place.Beat, place.Within)))).ToList();
        var known = slots.Select(slot => (slot.Either.Piece, slot.Either.Beat, slot.Either.Within)).ToHashSet();
        slots.AddRange(takes.Where(pair => !known.Contains(pair.Key)).Select(pair => new Slot(null, pair.Value)));
        var rows = new List<Row>();
        foreach (IGrouping<KitPiece, Slot> piece in SinglePage.ByPiece(slots, slot => slot.Either.Piece))
        {
            Slot[] own = [.. piece.OrderBy(slot => slot.Either.Mean?.Value ?? slot.Either.Written)];
            List<int> lines = FoldedBarGrid.FigureLines([.. own.Select(slot => slot.Later is { } later ? (grid.X(slot.Take!.Mean!.Value.Value), FoldedBarGrid.Figure(later)) : ((double, string)?)null)]);
            rows.Add(new Row(piece.Key, own, lines, rows.Count == 0 ? top : rows[^1].Bottom + RowGap));
        }

        return rows;
    }

    private static void DrawRow(List<DisplayItem> items, Row row, FoldedBarGrid grid, TakeComparisonResult result, double left, int passageHits)
    {
        items.Add(new TextItem(InkRole.Text, row.Piece.Name(), TextCut.Regular, left, row.Top + LineAt + 1, WordEm));
        if (result.Reported.FirstOrDefault(one => one.Kind == FeelFigures.LayBack && one.Subject == row.Piece.Name()) is { } reported)
        {
            string words = string.Create(CultureInfo.InvariantCulture, $"{Math.Abs(reported.Difference.Value):0} ms {(reported.Difference.Value > 0 ? "later" : "earlier")}");
            items.Add(new TextItem(InkRole.Measure, words, TextCut.SemiBold, left, row.Top + LineAt + 4.6, SmallEm));
        }

        double line = row.Top + LineAt;
        items.AddRange(Dots([.. row.Slots.Select(slot => slot.Passage).OfType<FoldedPlace>()], grid, row.Top, open: false));
        // The take's strokes are numbered on after the passage's.
        items.AddRange(Dots([.. row.Slots.Select(slot => slot.Take).OfType<FoldedPlace>()], grid, row.Top + TakeAt, open: true).Select(dot => dot with { Hit = dot.Hit + passageHits }));
        for (int i = 0; i < row.Slots.Count; i++)
        {
            Slot slot = row.Slots[i];
            DrawMean(items, slot.Passage, grid, line - 0.45, -1, InkRole.Note);
            DrawMean(items, slot.Take, grid, line + 0.45, 1, InkRole.Measure);
            if (slot.Later is not { } later)
                continue;
            string words = FoldedBarGrid.Figure(later);
            TextCut cut = result.Reported.Any(one => one.Kind == FeelFigures.Habit && one.Subject == TakeComparison.SubjectOf(slot.Either.Piece, slot.Either.Beat, slot.Either.Within)) ? TextCut.SemiBold : TextCut.Regular;
            items.Add(new TextItem(
                InkRole.Measure, words, cut, grid.X(slot.Take!.Mean!.Value.Value) - (TextFont.Width(words, cut) * FoldedBarGrid.FigureEm / 2), row.FiguresAt + (row.Lines[i] * FoldedBarGrid.FigureLine), FoldedBarGrid.FigureEm));
        }
    }

    private static IEnumerable<DisplayItem> Dots(IReadOnlyList<FoldedPlace> places, FoldedBarGrid grid, double top, bool open) => places.Count == 0
        ? []
        : DotSwarm.Draw(places, grid.X, top, (places.Min(place => place.Strokes.Min(stroke => stroke.Bar)), places.Max(place => place.Strokes.Max(stroke => stroke.Bar))), open);

    /// <param name="towards">Where its own strokes lie: −1 above the line, 1 below.</param>
    private static void DrawMean(List<DisplayItem> items, FoldedPlace? place, FoldedBarGrid grid, double at, int towards, InkRole role)
    {
        if (place?.Mean is not { } mean)
            return;
        items.Add(new LineItem(role, null, grid.X(mean.Low), at, grid.X(mean.High), at, 0.4));
        items.Add(new LineItem(role, null, grid.X(mean.Value), at - (towards * 0.2), grid.X(mean.Value), at + (towards * 1.1), 0.35));
    }

    private static List<DisplayItem> Key(double left, double y)
    {
        var items = new List<DisplayItem>();
        double x = left;
        foreach ((string word, int head, InkRole role) in new[] { ("the passage, above", Smufl.AugmentationDot, InkRole.Note), ("the take, below", Smufl.OpenDot, InkRole.Measure) })
        {
            double em = KeyDotEm * MusicFont.Bounds(Smufl.AugmentationDot).Width / MusicFont.Bounds(head).Width;
            Box dot = MusicFont.Bounds(head).Scaled(em / MusicFont.SpacesPerEm);
            items.Add(new GlyphItem(role, null, head, x - dot.Left, y - 1.1 - ((dot.Top + dot.Bottom) / 2), em));
            items.Add(new TextItem(role == InkRole.Note ? InkRole.Text : role, word, TextCut.Regular, x + 2, y, WordEm));
            x += 2 + (TextFont.Width(word, TextCut.Regular) * WordEm) + 6;
        }

        return items;
    }

    private static Dictionary<int, string> Names(FoldedBar first, FoldedBar second, int passageHits)
    {
        static string Name(string whose, FoldedPlace place, FoldedStroke stroke) =>
            string.Create(CultureInfo.InvariantCulture, $"{whose}, bar {stroke.Bar}, {FeelFigures.Count(place.Beat, place.Within)}: {place.Piece.Name()}");
        var names = new Dictionary<int, string>();
        foreach (FoldedPlace place in first.Places)
        {
            foreach (FoldedStroke stroke in place.Strokes)
                names[stroke.Hit] = Name("passage", place, stroke);
        }

        foreach (FoldedPlace place in second.Places)
        {
            foreach (FoldedStroke stroke in place.Strokes)
                names[stroke.Hit + passageHits] = Name("take", place, stroke);
        }

        return names;
    }

    private static string Describe(List<Row> rows) => "Passage and take laid on one bar. " + string.Join(" ", rows.Select(row =>
        $"{row.Piece.Name()}: {string.Join(", ", row.Slots.Where(slot => slot.Later is not null).Select(slot => string.Create(CultureInfo.InvariantCulture, $"{FeelFigures.Count(slot.Either.Beat, slot.Either.Within)} {slot.Later:+0;−0;0} ms")))}."));
}
