namespace Hindbeat.Charting;

/// <summary>
/// Shares bars out among systems so that all are stretched alike: least sum of squared log stretch over
/// all lines (dynamic programming), with a small price for lines of three, five … bars, since phrases
/// come in twos and fours.
/// </summary>
internal static class LineBreaks
{
    /// <summary>As dear as a stretch of 1.28 or 0.78.</summary>
    private const double OddLinePrice = 0.06;

    /// <summary>Below this the notes of a line crowd; only a line of one bar may go lower.</summary>
    private const double LeastStretch = 0.74;

    private const double LastLineSlack = 0.35;

    /// <returns>First bar of each line.</returns>
    public static List<int> Break(IReadOnlyList<BarLayout> bars, double firstWidth, double otherWidth)
    {
        int count = bars.Count;
        var best = new double[count + 1];
        var from = new int[count + 1];
        Array.Fill(best, double.PositiveInfinity);
        best[0] = 0;
        for (int end = 1; end <= count; end++)
        {
            for (int start = end - 1; start >= 0; start--)
            {
                double room = start == 0 ? firstWidth : otherWidth;
                bool isLast = end == count;
                double price = LinePrice(bars, start, end, room, isLast);
                if (double.IsPositiveInfinity(price))
                    break;
                if (best[start] + price < best[end])
                    (best[end], from[end]) = (best[start] + price, start);
            }
        }

        var firsts = new List<int>();
        for (int end = count; end > 0; end = from[end])
            firsts.Add(from[end]);
        firsts.Reverse();
        return firsts;
    }

    /// <summary>The factor by which all springs of a line fill its width; bisection, as bars grow steadily with it.</summary>
    public static double StretchFor(IReadOnlyList<BarLayout> bars, int start, int end, double room)
    {
        double low = 0;
        double high = 1;
        while (Width(bars, start, end, high) < room && high < 1000)
            high *= 2;
        for (int i = 0; i < 40; i++)
        {
            double middle = (low + high) / 2;
            if (Width(bars, start, end, middle) <= room)
                low = middle;
            else
                high = middle;
        }

        return low;
    }

    public static double Width(IReadOnlyList<BarLayout> bars, int start, int end, double stretch)
    {
        double sum = 0;
        for (int i = start; i < end; i++)
            sum += bars[i].Width(stretch);
        return sum;
    }

    private static double LinePrice(IReadOnlyList<BarLayout> bars, int start, int end, double room, bool isLast)
    {
        int size = end - start;
        if (size > 1 && Width(bars, start, end, LeastStretch) > room)
            return double.PositiveInfinity;
        double log = Math.Log(Math.Max(0.3, StretchFor(bars, start, end, room)));
        if (isLast && log > 0)
            log *= LastLineSlack; // A short last line stays ragged, so its stretch is not seen.
        int written = bars[start].Bar.IsPickup ? size - 1 : size;
        bool odd = written is not (1 or 2 or 4 or 8) && !isLast;
        return (log * log) + (odd ? OddLinePrice : 0);
    }
}
