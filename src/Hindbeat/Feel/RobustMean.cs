namespace Hindbeat.Feel;

/// <summary>
/// A biweight mean of values that lie in blocks, and what it is without any one block (one linear step, exact
/// for a plain mean). Starts from the median; the scale is given and held.
/// </summary>
internal sealed class RobustMean
{
    private const int Steps = 30;
    private readonly double[] _pullOf;
    private readonly double[] _slopeOf;
    private readonly double[] _countOf;
    private readonly double _slope;
    private readonly double _count;

    /// <param name="weights">Confidence of each value, above 0.</param>
    public RobustMean(ReadOnlySpan<double> values, ReadOnlySpan<double> weights, ReadOnlySpan<int> blockOf, int blocks, double scale)
    {
        (_pullOf, _slopeOf, _countOf) = (new double[blocks], new double[blocks], new double[blocks]);
        Value = Sorting.Median(values.ToArray());
        for (int step = 0; step < Steps; step++)
        {
            double top = 0, bottom = 0;
            for (int i = 0; i < values.Length; i++)
            {
                double weight = weights[i] * Tukey.Weight(values[i] - Value, scale);
                top += weight * (values[i] - Value);
                bottom += weight;
            }

            if (bottom <= 0 || Math.Abs(top) <= 1e-15 * bottom)
                break;
            Value += top / bottom;
        }

        for (int i = 0; i < values.Length; i++)
        {
            double residual = values[i] - Value, slope = weights[i] * Tukey.Slope(residual, scale);
            _pullOf[blockOf[i]] += weights[i] * residual * Tukey.Weight(residual, scale);
            _slopeOf[blockOf[i]] += slope;
            _slope += slope;
            _countOf[blockOf[i]] += weights[i];
            _count += weights[i];
        }
    }

    public double Value { get; }

    /// <summary>Confidence-weighted number of values in each block.</summary>
    public ReadOnlySpan<double> CountOf => _countOf;

    public double Count => _count;

    /// <summary>The mean without block <paramref name="left"/> (−1 = all); NaN when nothing is left.</summary>
    public double Without(int left)
    {
        if (left < 0)
            return Value;
        double rest = _count - _countOf[left];
        if (rest < 1e-9)
            return double.NaN;
        // A block of strays can have a negative slope; the floor keeps the step finite.
        return Value - (_pullOf[left] / Math.Max(_slope - _slopeOf[left], 0.2 * rest));
    }
}
