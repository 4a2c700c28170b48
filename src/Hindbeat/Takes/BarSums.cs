namespace Hindbeat.Takes;

/// <summary>Sums of strokes by bar of the passage, from which a mean is known without any one bar.</summary>
internal sealed class BarSums
{
    private readonly double[] _sum;
    private readonly int[] _count;
    private readonly double _all;

    /// <param name="bars">All bars, ascending.</param>
    /// <param name="strokes">The bar each stroke belongs to, and its value.</param>
    public BarSums(int[] bars, IEnumerable<(int Bar, double Value)> strokes)
    {
        _sum = new double[bars.Length];
        _count = new int[bars.Length];
        foreach ((int bar, double value) in strokes)
        {
            int block = Array.BinarySearch(bars, bar);
            _sum[block] += value;
            _count[block]++;
        }

        Count = _count.Sum();
        _all = _sum.Sum();
        Bars = _count.Count(count => count > 0);
    }

    public int Count { get; }

    /// <summary>Bars that hold any.</summary>
    public int Bars { get; }

    /// <param name="without">Index of the bar left out; −1 = none.</param>
    /// <returns>0 when nothing is left.</returns>
    public double Mean(int without)
    {
        int count = CountWithout(without);
        return count == 0 ? 0 : (without < 0 ? _all : _all - _sum[without]) / count;
    }

    public int CountWithout(int without) => Count - (without < 0 ? 0 : _count[without]);

    /// <summary>
    /// Standard error of a figure over bars: delete-one jackknife, s² = (k − 1)/k Σ(figure without a bar − their mean)².
    /// Miller, Biometrika 61:1–15, 1974 (stated from memory).
    /// </summary>
    /// <param name="figure">The figure without a bar.</param>
    public static double Jackknife(int bars, Func<int, double> figure)
    {
        double[] without = [.. Enumerable.Range(0, bars).Select(figure)];
        double middle = without.Average();
        return Math.Sqrt((bars - 1.0) / bars * without.Sum(one => (one - middle) * (one - middle)));
    }
}
