namespace Hindbeat.Accuracy;

/// <summary>Spearman's rank correlation; ties are ranked by their mean. NaN for fewer than three pairs or when one side is constant.</summary>
internal static class Ranks
{
    public static double Correlation(IReadOnlyList<(double, double)> pairs)
    {
        if (pairs.Count < 3)
            return double.NaN;
        double[] a = Of([.. pairs.Select(pair => pair.Item1)]);
        double[] b = Of([.. pairs.Select(pair => pair.Item2)]);
        double meanA = a.Average();
        double meanB = b.Average();
        double top = 0, left = 0, right = 0;
        for (int i = 0; i < a.Length; i++)
        {
            top += (a[i] - meanA) * (b[i] - meanB);
            left += (a[i] - meanA) * (a[i] - meanA);
            right += (b[i] - meanB) * (b[i] - meanB);
        }

        return top / Math.Sqrt(left * right);
    }

    private static double[] Of(double[] values)
    {
        int[] order = [.. Enumerable.Range(0, values.Length).OrderBy(i => values[i])];
        var ranks = new double[values.Length];
        for (int i = 0; i < order.Length;)
        {
            int j = i;
            while (j < order.Length && values[order[j]].Equals(values[order[i]]))
                j++;
            for (int k = i; k < j; k++)
                ranks[order[k]] = (i + j - 1) / 2.0;
            i = j;
        }

        return ranks;
    }
}
