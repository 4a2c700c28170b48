using Hindbeat.Feel;

namespace Hindbeat.Takes;

/// <summary>One delay from many that were measured, some of them wrongly; all in seconds.</summary>
/// <param name="HalfWidth">Half of the mean's 95 % interval (Student's t).</param>
/// <param name="Deviation">Standard deviation of those kept.</param>
/// <param name="Kept">How many lie within four robust deviations (1.4826 times the median distance) of the median.</param>
internal readonly record struct DelaySpread(double Mean, double HalfWidth, double Deviation, int Kept)
{
    /// <summary>Two samples of a recording: what is nearer than this to the others is not wrong. Seconds.</summary>
    private const double Resolution = 5e-5;

    /// <param name="delays">At least two, any order.</param>
    public static DelaySpread Of(IReadOnlyList<double> delays)
    {
        double[] sorted = [.. delays.Order()];
        double median = Median(sorted);
        double[] off = [.. sorted.Select(delay => Math.Abs(delay - median)).Order()];
        double scale = Math.Max(1.4826 * Median(off), Resolution);
        double[] kept = [.. sorted.Where(delay => Math.Abs(delay - median) <= 4 * scale)];
        double mean = kept.Average();
        double deviation = Math.Sqrt(kept.Sum(delay => (delay - mean) * (delay - mean)) / (kept.Length - 1));
        return new DelaySpread(mean, StudentT.Quantile975(kept.Length - 1) * deviation / Math.Sqrt(kept.Length), deviation, kept.Length);
    }

    private static double Median(double[] sorted) => 0.5 * (sorted[(sorted.Length - 1) / 2] + sorted[sorted.Length / 2]);
}
