namespace Hindbeat.Rebuilding;

/// <summary>
/// Band-limited reading between samples: a sinc under a Kaiser window, <see cref="Taps"/> taps. It is
/// symmetric about the place it reads, so it moves a sound by a fraction of a sample and delays it by
/// nothing else.
/// </summary>
internal static class WindowedSinc
{
    public const int Taps = 32;

    /// <summary>Taps before the sample that the read place falls on.</summary>
    public const int Before = (Taps / 2) - 1;

    /// <summary>Side lobes near −80 dB; with 32 taps flat within 0.01 dB up to 18 kHz at 44.1 kHz.</summary>
    private const double Beta = 8.0;

    /// <summary>
    /// Taps h with y(n) = Σ h[k]·x(n − Before + k): the signal read <paramref name="fraction"/> of a sample
    /// after n, 0 ≤ fraction &lt; 1.
    /// </summary>
    public static void ReadAfter(double fraction, Span<float> taps)
    {
        Span<double> exact = stackalloc double[Taps];
        double sum = 0;
        for (int k = 0; k < Taps; k++)
        {
            exact[k] = Value(k - Before - fraction);
            sum += exact[k];
        }

        // A constant must stay a constant, whatever the window lost.
        for (int k = 0; k < Taps; k++)
            taps[k] = (float)(exact[k] / sum);
    }

    /// <summary>The windowed sinc at x samples from its middle; 0 beyond half its taps.</summary>
    internal static double Value(double x)
    {
        const double Half = Taps / 2.0;
        double inside = 1 - (x / Half * (x / Half));
        if (inside <= 0)
            return 0;
        double sinc = Math.Abs(x) < 1e-12 ? 1 : Math.Sin(Math.PI * x) / (Math.PI * x);
        return sinc * Bessel(Beta * Math.Sqrt(inside)) / BesselBeta;
    }

    private static readonly double BesselBeta = Bessel(Beta);

    /// <summary>Modified Bessel function of the first kind, order 0, by its power series.</summary>
    private static double Bessel(double x)
    {
        double term = 1;
        double sum = 1;
        for (int k = 1; term > 1e-16 * sum; k++)
        {
            term *= x / (2 * k) * (x / (2 * k));
            sum += term;
        }

        return sum;
    }
}
