namespace Hindbeat.Feel;

/// <summary>
/// What remains of the tempo after the pulse: a curve through the whole kit's deviations with a knot
/// every 8 beats, straight in between. Timing below and above about 8 beats are two processes, short
/// microtiming and slow drift (Sogorski, Geisel, Priesemann 2018, PLoS ONE 13(1):e0186361). The curve's
/// weighted mean is taken out, so it never eats "the whole kit is late".
/// </summary>
/// <remarks>Where we differ: they model drift as a random walk; a straight-line curve is its cheap smoother.</remarks>
internal static class SlowCurve
{
    public const double BeatsBetweenKnots = 8;

    /// <summary>A pull to zero worth half a stroke a knot keeps knots without strokes defined.</summary>
    private const double Ridge = 0.5;

    /// <summary>Knots for a passage of this many beats; 0 when it is too short for a curve.</summary>
    public static int KnotsFor(double beats) => beats < 2 * BeatsBetweenKnots ? 0 : (int)Math.Round(beats / BeatsBetweenKnots) + 1;

    /// <summary>Fills <paramref name="curve"/> with the fitted value at each place.</summary>
    /// <param name="beats">Places in beats.</param>
    /// <param name="residuals">Seconds, with swing, lay-back and so on taken out.</param>
    /// <param name="weights">Weight of each, at least 0.</param>
    public static void Fit(ReadOnlySpan<double> beats, ReadOnlySpan<double> residuals, ReadOnlySpan<double> weights, Span<double> curve)
    {
        curve.Clear();
        double first = double.PositiveInfinity, last = double.NegativeInfinity;
        foreach (double beat in beats)
            (first, last) = (Math.Min(first, beat), Math.Max(last, beat));
        int knots = KnotsFor(last - first);
        if (knots == 0)
            return;
        double step = (last - first) / (knots - 1);

        double[] diagonal = new double[knots], above = new double[knots], right = new double[knots];
        Array.Fill(diagonal, Ridge);
        for (int i = 0; i < beats.Length; i++)
        {
            int k = Math.Min((int)((beats[i] - first) / step), knots - 2);
            double b = ((beats[i] - first) / step) - k, a = 1 - b, w = weights[i];
            diagonal[k] += w * a * a;
            diagonal[k + 1] += w * b * b;
            above[k] += w * a * b;
            right[k] += w * a * residuals[i];
            right[k + 1] += w * b * residuals[i];
        }

        // Tridiagonal elimination; the matrix is positive definite thanks to the ridge.
        for (int k = 1; k < knots; k++)
        {
            double factor = above[k - 1] / diagonal[k - 1];
            diagonal[k] -= factor * above[k - 1];
            right[k] -= factor * right[k - 1];
        }

        right[knots - 1] /= diagonal[knots - 1];
        for (int k = knots - 2; k >= 0; k--)
            right[k] = (right[k] - (above[k] * right[k + 1])) / diagonal[k];

        double sum = 0, total = 0;
        for (int i = 0; i < beats.Length; i++)
        {
            int k = Math.Min((int)((beats[i] - first) / step), knots - 2);
            double b = ((beats[i] - first) / step) - k;
            curve[i] = ((1 - b) * right[k]) + (b * right[k + 1]);
            sum += weights[i] * curve[i];
            total += weights[i];
        }

        for (int i = 0; i < beats.Length && total > 0; i++)
            curve[i] -= sum / total;
    }
}
