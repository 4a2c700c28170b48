namespace Hindbeat.Feel;

/// <summary>
/// Tukey's biweight: a stroke counts fully near the middle, less further out, and not at all beyond
/// 4.685 scales, so that a misheard stroke cannot drag a mean. (Beaton and Tukey, Technometrics 16, 1974;
/// 4.685 keeps 95 % efficiency on normal data: textbook value, from memory.)
/// </summary>
internal static class Tukey
{
    public const double Cut = 4.685;

    /// <summary>Weight (1 − (r/cs)²)², 0 beyond the cut.</summary>
    public static double Weight(double residual, double scale)
    {
        double u = residual / (Cut * scale);
        double v = 1 - (u * u);
        return v > 0 ? v * v : 0;
    }

    /// <summary>
    /// Derivative of r·Weight(r): (1 − u²)(1 − 5u²). The influence of a stroke is r·w ÷ Σ of these; dividing
    /// by Σw instead makes intervals 17 % too narrow on normal data.
    /// </summary>
    public static double Slope(double residual, double scale)
    {
        double u = residual / (Cut * scale);
        double u2 = u * u;
        return u2 < 1 ? (1 - u2) * (1 - (5 * u2)) : 0;
    }
}
