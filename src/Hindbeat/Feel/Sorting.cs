namespace Hindbeat.Feel;

/// <summary>Medians and quantiles of plain numbers.</summary>
internal static class Sorting
{
    /// <summary>Middle of the values (mean of the two middle ones); sorts them in place. Throws on none.</summary>
    public static double Median(Span<double> values)
    {
        if (values.IsEmpty)
            throw new ArgumentException("A median needs at least one value.", nameof(values));
        values.Sort();
        int middle = values.Length / 2;
        return values.Length % 2 == 1 ? values[middle] : 0.5 * (values[middle - 1] + values[middle]);
    }

    /// <summary>Linear interpolation between order statistics; the values must be sorted.</summary>
    public static double Quantile(ReadOnlySpan<double> sorted, double share)
    {
        double place = share * (sorted.Length - 1);
        int left = Math.Min((int)place, sorted.Length - 2);
        return sorted.Length == 1 ? sorted[0] : sorted[left] + ((place - left) * (sorted[left + 1] - sorted[left]));
    }
}
