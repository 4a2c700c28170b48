namespace Hindbeat.Feel;

/// <summary>Strays and two heaps among values that belong to cells.</summary>
internal static class Spread
{
    /// <summary>Below half a millisecond nothing is called a stray.</summary>
    private const double SmallestScale = 0.0005;

    /// <summary>
    /// Distance of two heaps over their spread, √2·gap ÷ √(s₁² + s₂²), above which they count as two: splitting a
    /// normal heap at its middle gives 2.7, an even one 3.5 (arithmetic).
    /// </summary>
    private const double ApartFrom = 4.2;

    private const double LeastShareOfAHeap = 0.15;
    private const int FewestForHeaps = 12;

    /// <summary>
    /// Robust spread around the cells' medians: 1.4826 · median |x − cell median|, widened for the medians fitted;
    /// zero when fewer than 4 values are left over to tell.
    /// </summary>
    public static double Around(double[] values, int[] cells)
    {
        const int FewestLeftOver = 4;
        int spare = values.Length - cells.Distinct().Count();
        if (spare < FewestLeftOver)
            return 0;
        double[] sizes = [.. Residuals(values, cells, null).Select(Math.Abs)];
        return 1.4826 * Sorting.Median(sizes) * Math.Sqrt(values.Length / (double)spare);
    }

    /// <summary>
    /// Standard deviation around the cells' means, without strays beyond 4 robust spreads, with its interval by block
    /// on the logarithm; null when fewer than 4 values are left over to tell or all lie in one block.
    /// </summary>
    public static Estimate? Interval(double[] values, int[] cells, int[] blockOf, BarResampling resampling, int blocks)
    {
        const double StrayBeyond = 4;
        const double FewestLeftOver = 4;
        bool[] kept = Keep(values, cells, StrayBeyond);
        var sums = new SumsByCell(blocks);
        for (int i = 0; i < values.Length; i++)
        {
            if (kept[i])
                sums.Add(cells[i], blockOf[i], values[i]);
        }

        (double total, double evidence) = sums.Within(-1);
        if (evidence < FewestLeftOver)
            return null;
        if (total <= 0)
            return new Estimate(0, 0, 0);
        double LogSpread(int left)
        {
            (double squares, double rest) = sums.Within(left);
            return rest > 0.5 && squares > 0 ? 0.5 * Math.Log(squares / rest) : double.NaN;
        }

        return resampling.Interval(LogSpread, sums.EvidenceByBlock(), leastSpread: 1 / Math.Sqrt(2 * evidence)) is { } log
            ? new Estimate(Math.Exp(log.Value), Math.Exp(log.Low), Math.Exp(log.High))
            : null;
    }

    /// <summary>False for values beyond <paramref name="beyond"/> robust spreads (1.4826 · median |x − cell median|) of their cell.</summary>
    public static bool[] Keep(double[] values, int[] cells, double beyond)
    {
        double[] residuals = Residuals(values, cells, null);
        double[] sizes = [.. residuals.Select(Math.Abs)];
        int groups = cells.Distinct().Count();
        double scale = 1.4826 * Sorting.Median(sizes) * Math.Sqrt(values.Length / (double)Math.Max(values.Length - groups, 1));
        double limit = beyond * Math.Max(scale, SmallestScale);
        return [.. residuals.Select(residual => Math.Abs(residual) <= limit)];
    }

    /// <summary>The gap between two heaps of the residuals, or null when there is one heap.</summary>
    public static double? GapOfTwoModes(double[] values, int[] cells, bool[] kept)
    {
        double[] sorted = [.. Residuals(values, cells, kept).Where((_, i) => kept[i]).Order()];
        int n = sorted.Length;
        if (n < FewestForHeaps)
            return null;
        double[] sums = new double[n + 1], squares = new double[n + 1];
        for (int i = 0; i < n; i++)
            (sums[i + 1], squares[i + 1]) = (sums[i] + sorted[i], squares[i] + (sorted[i] * sorted[i]));
        double best = double.PositiveInfinity, gap = 0, apart = 0;
        for (int cut = (int)Math.Ceiling(LeastShareOfAHeap * n); cut <= n - (int)Math.Ceiling(LeastShareOfAHeap * n); cut++)
        {
            double low = sums[cut] / cut, high = (sums[n] - sums[cut]) / (n - cut);
            double within1 = Math.Max(0, squares[cut] - (cut * low * low)), within2 = Math.Max(0, squares[n] - squares[cut] - ((n - cut) * high * high));
            if (within1 + within2 >= best)
                continue;
            best = within1 + within2;
            gap = high - low;
            double spread = Math.Sqrt((within1 / cut) + (within2 / (n - cut)));
            apart = Math.Sqrt(2) * gap / Math.Max(spread, SmallestScale);
        }

        return apart > ApartFrom ? gap : null;
    }

    private static double[] Residuals(double[] values, int[] cells, bool[]? kept)
    {
        double[] residuals = new double[values.Length], scratch = new double[values.Length];
        foreach (int cell in cells.Distinct())
        {
            int n = 0;
            for (int i = 0; i < values.Length; i++)
            {
                if (cells[i] == cell && kept?[i] != false)
                    scratch[n++] = values[i];
            }

            double middle = n > 0 ? Sorting.Median(scratch.AsSpan(0, n)) : 0;
            for (int i = 0; i < values.Length; i++)
            {
                if (cells[i] == cell)
                    residuals[i] = values[i] - middle;
            }
        }

        return residuals;
    }
}
