namespace Hindbeat.Feel;

/// <summary>Soft and loud strokes of one piece told apart: ghosts and backbeats.</summary>
internal static class LoudnessHeaps
{
    /// <summary>A ghost lies at least this far below a backbeat (common practice, no source; below it one speaks of accents).</summary>
    public const double LeastGapDb = 8;

    /// <summary>Gap over the heaps' own spread: an even spread of levels cut in two gives 3.5 (arithmetic).</summary>
    private const double ApartFrom = 4.2;

    private const double SmallestSpreadDb = 1;
    private const int FewestOfAHeap = 2;

    /// <summary>The level that parts the two heaps (halfway between their means); null when there is one heap.</summary>
    public static double? CutOf(IEnumerable<double> levels)
    {
        double[] sorted = [.. levels.Order()];
        int n = sorted.Length;
        double[] sums = new double[n + 1], squares = new double[n + 1];
        for (int i = 0; i < n; i++)
            (sums[i + 1], squares[i + 1]) = (sums[i] + sorted[i], squares[i] + (sorted[i] * sorted[i]));
        double best = double.PositiveInfinity, gap = 0, middle = 0;
        for (int cut = FewestOfAHeap; cut <= n - FewestOfAHeap; cut++)
        {
            double low = sums[cut] / cut, high = (sums[n] - sums[cut]) / (n - cut);
            double within = squares[n] - (cut * low * low) - ((n - cut) * high * high);
            if (within < best)
                (best, gap, middle) = (within, high - low, 0.5 * (low + high));
        }

        double spread = Math.Max(Math.Sqrt(Math.Max(best, 0) / n), SmallestSpreadDb);
        return gap >= LeastGapDb && gap >= ApartFrom * spread ? middle : null;
    }
}
