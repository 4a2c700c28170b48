namespace Hindbeat.Feel;

/// <summary>The t distribution's 97.5 % point: how much wider than 1.96 an interval must be when its spread rests on few blocks.</summary>
internal static class StudentT
{
    /// <summary>The normal distribution's 97.5 % point.</summary>
    public const double Normal975 = 1.959963984540054;

    /// <summary>
    /// t(0.975; <paramref name="degrees"/>), degrees any real number of 1 or more. Solves P(|T| ≤ t) = 0.95
    /// by bisection on the incomplete beta function; absolute error below 1e-9.
    /// </summary>
    public static double Quantile975(double degrees)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(degrees, 1.0);
        if (degrees > 1e6)
            return Normal975;
        double low = 1.9, high = 13.0;
        for (int i = 0; i < 60; i++)
        {
            double middle = 0.5 * (low + high);
            if (TwoSidedTail(middle, degrees) > 0.05)
                low = middle;
            else
                high = middle;
        }

        return 0.5 * (low + high);
    }

    /// <summary>P(|T| &gt; t) = I(ν/(ν+t²); ν/2, 1/2).</summary>
    public static double TwoSidedTail(double t, double degrees) =>
        IncompleteBeta(degrees / 2.0, 0.5, degrees / (degrees + (t * t)));

    /// <summary>Regularised incomplete beta by its continued fraction (modified Lentz; DLMF 8.17.22).</summary>
    private static double IncompleteBeta(double a, double b, double x)
    {
        if (x <= 0)
            return 0;
        if (x >= 1)
            return 1;
        if (x > (a + 1) / (a + b + 2))
            return 1 - IncompleteBeta(b, a, 1 - x);
        double front = Math.Exp(LogGamma(a + b) - LogGamma(a) - LogGamma(b) + (a * Math.Log(x)) + (b * Math.Log(1 - x))) / a;
        const double Tiny = 1e-300;
        double f = 1, c = 1, d = 0;
        for (int i = 0; i <= 400; i++)
        {
            int m = i / 2;
            double numerator = i == 0
                ? 1
                : i % 2 == 0
                    ? m * (b - m) * x / ((a + (2 * m) - 1) * (a + (2 * m)))
                    : -(a + m) * (a + b + m) * x / ((a + (2 * m)) * (a + (2 * m) + 1));
            d = 1 + (numerator * d);
            d = 1 / (Math.Abs(d) < Tiny ? Tiny : d);
            c = 1 + (numerator / c);
            if (Math.Abs(c) < Tiny)
                c = Tiny;
            f *= c * d;
            if (Math.Abs(1 - (c * d)) < 1e-14)
                break;
        }

        return front * (f - 1);
    }

    /// <summary>Lanczos approximation with g = 7, nine terms; relative error about 1e-15 for positive x.</summary>
    private static double LogGamma(double x)
    {
        ReadOnlySpan<double> terms =
        [
            0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313, -176.61502916214059,
            12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6, 1.5056327351493116e-7,
        ];
        if (x < 0.5)
            return Math.Log(Math.PI / Math.Sin(Math.PI * x)) - LogGamma(1 - x);
        x -= 1;
        double sum = terms[0];
        for (int i = 1; i < terms.Length; i++)
            sum += terms[i] / (x + i);
        double t = x + 7.5;
        return (0.5 * Math.Log(2 * Math.PI)) + ((x + 0.5) * Math.Log(t)) - t + Math.Log(sum);
    }
}
