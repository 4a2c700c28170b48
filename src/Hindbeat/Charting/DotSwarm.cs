using Hindbeat.Feel;

namespace Hindbeat.Charting;

/// <summary>
/// The dots of one row of the folded bar: each exactly at its time, as high as its bar is early, and moved up or down
/// just far enough that no two cover one another. The more bars, the smaller the dots.
/// </summary>
internal static class DotSwarm
{
    /// <summary>Millimetres that a row's dots may use.</summary>
    public const double Height = 9;

    private const double LargestEm = 7.6;

    /// <summary>A dot of 0.15 mm; with some hundred bars at one place dots begin to touch, and their density is what is seen.</summary>
    private const double SmallestEm = 1.5;

    private const double Shrink = 0.85;

    /// <summary>Heights are tried in steps of this share of a dot.</summary>
    private const double Step = 0.25;

    /// <param name="x">Millimetres from the left for a moment of the bar.</param>
    /// <param name="open">Circles in the colour of measurements instead of dots in ink: a second playing of the same bar.</param>
    public static IEnumerable<DisplayItem> Draw(IReadOnlyList<FoldedPlace> places, Func<double, double> x, double top, (int First, int Last) bars, bool open = false)
    {
        int head = open ? Smufl.OpenDot : Smufl.AugmentationDot;
        (FoldedStroke Stroke, double X)[] strokes = [.. places.SelectMany(place => place.Strokes).OrderBy(stroke => stroke.Bar).ThenBy(stroke => stroke.Beats).Select(stroke => (stroke, x(stroke.Beats)))];
        double em = LargestEm;
        double[]? heights;
        while ((heights = HeightsOf(strokes, DotSize(em), bars, mayTouch: em * Shrink < SmallestEm)) is null)
            em *= Shrink;
        double size = em * MusicFont.Bounds(Smufl.AugmentationDot).Width / MusicFont.Bounds(head).Width;
        Box dot = MusicFont.Bounds(head).Scaled(size / MusicFont.SpacesPerEm);
        return strokes.Select((pair, i) => new GlyphItem(
            open ? InkRole.Measure : InkRole.Note, pair.Stroke.Hit, head, pair.X - (dot.Left + (dot.Width / 2)), top + heights[i] - ((dot.Top + dot.Bottom) / 2), size));
    }

    private static double DotSize(double em)
    {
        Box dot = MusicFont.Bounds(Smufl.AugmentationDot).Scaled(em / MusicFont.SpacesPerEm);
        return 1.05 * Math.Max(dot.Width, dot.Bottom - dot.Top);
    }

    /// <returns>Null when there is no room for dots of this size.</returns>
    private static double[]? HeightsOf((FoldedStroke Stroke, double X)[] strokes, double size, (int First, int Last) bars, bool mayTouch)
    {
        // Cells of a dot's width: only dots of the same and the neighbouring cells can meet.
        var cells = new Dictionary<int, List<(double X, double Y)>>();
        var heights = new double[strokes.Length];
        double low = size / 2;
        double high = Height - (size / 2);
        for (int i = 0; i < strokes.Length; i++)
        {
            double share = bars.Last == bars.First ? 0.5 : (double)(strokes[i].Stroke.Bar - bars.First) / (bars.Last - bars.First);
            double wanted = low + (share * (high - low));
            int cell = (int)Math.Floor(strokes[i].X / size);
            List<(double X, double Y)> near = [.. Enumerable.Range(cell - 1, 3).SelectMany(c => cells.TryGetValue(c, out var dots) ? dots : [])];
            double? free = FreeHeight(near, strokes[i].X, wanted, low, high, size);
            if (free is null && !mayTouch)
                return null;
            heights[i] = free ?? wanted;
            if (!cells.TryGetValue(cell, out List<(double X, double Y)>? own))
                cells[cell] = own = [];
            own.Add((strokes[i].X, heights[i]));
        }

        return heights;
    }

    private static double? FreeHeight(List<(double X, double Y)> near, double x, double wanted, double low, double high, double size)
    {
        for (int step = 0; step * Step * size <= high - low; step++)
        {
            foreach (double y in new[] { wanted + (step * Step * size), wanted - (step * Step * size) })
            {
                if (y >= low && y <= high && near.TrueForAll(dot => ((dot.X - x) * (dot.X - x)) + ((dot.Y - y) * (dot.Y - y)) >= size * size))
                    return y;
            }
        }

        return null;
    }
}
