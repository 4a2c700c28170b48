namespace Hindbeat.Feel;

/// <summary>
/// Detrended fluctuation analysis of a row of numbers: the row is added up, cut into windows of s values, a straight line is
/// taken out of each, and F(s) = √(mean square of what is left). Where F grows like sᵅ, α is the exponent: ½ for
/// independent values, above ½ when slips last, below ½ when each is made up for.
/// </summary>
/// <remarks>
/// Peng et al., Physical Review E 49:1685–1689, 1994 (from memory). For drumming: Räsänen et al., PLoS ONE 10(6):e0127902, 2015;
/// that short series mislead it: Gordon et al., Rev. Sci. Instrum. 90:103704, 2019 (both read in abstract). Hence
/// windows from <see cref="SmallestWindow"/> to an eighth of the row and at least <see cref="FewestValues"/> values.
/// </remarks>
public static class Fluctuation
{
    public const int FewestValues = 512;
    public const int SmallestWindow = 16;

    /// <summary>Slope of log F over log s, least squares, windows growing by a quarter octave, from both ends of the row; NaN for a row without change.</summary>
    /// <exception cref="ArgumentException">Fewer than <see cref="FewestValues"/> values.</exception>
    public static double Exponent(ReadOnlySpan<double> values)
    {
        if (values.Length < FewestValues)
            throw new ArgumentException($"An exponent needs {FewestValues} values; there are {values.Length}.", nameof(values));
        double mean = 0;
        foreach (double value in values)
            mean += value / values.Length;
        double[] profile = new double[values.Length];
        double sum = 0;
        for (int i = 0; i < values.Length; i++)
            profile[i] = sum += values[i] - mean;

        double n = 0, x = 0, y = 0, xx = 0, xy = 0;
        int last = 0;
        for (double size = SmallestWindow; size <= values.Length / 8.0; size *= Math.Pow(2, 0.25))
        {
            int window = (int)Math.Round(size);
            if (window == last)
                continue;
            last = window;
            double fluctuation = 0.5 * Math.Log(MeanSquare(profile, window)), logarithm = Math.Log(window);
            (n, x, y, xx, xy) = (n + 1, x + logarithm, y + fluctuation, xx + (logarithm * logarithm), xy + (logarithm * fluctuation));
        }

        double slope = ((n * xy) - (x * y)) / ((n * xx) - (x * x));
        return double.IsFinite(slope) ? slope : double.NaN;
    }

    private static double MeanSquare(double[] profile, int window)
    {
        int count = profile.Length / window, shift = profile.Length - (count * window);
        double centre = 0.5 * (window - 1), spread = window * (((double)window * window) - 1) / 12, squares = 0;
        for (int w = 0; w < 2 * count; w++)
        {
            int start = w < count ? w * window : shift + ((w - count) * window);
            double sum = 0, square = 0, slope = 0;
            for (int i = 0; i < window; i++)
            {
                double value = profile[start + i] - profile[start];
                (sum, square, slope) = (sum + value, square + (value * value), slope + (value * (i - centre)));
            }

            squares += Math.Max(square - (sum * sum / window) - (slope * slope / spread), 0) / window;
        }

        return squares / (2 * count);
    }
}
