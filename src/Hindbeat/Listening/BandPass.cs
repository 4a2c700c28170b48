using Hindbeat.Sound;

namespace Hindbeat.Listening;

/// <summary>
/// A causal band-pass: a high-pass and a low-pass of second order (Butterworth) in a row. Causal because a filter
/// that looks ahead smears a stroke's energy to before its onset.
/// </summary>
/// <remarks>Coefficients after R. Bristow-Johnson, Cookbook formulae for audio EQ biquad filter coefficients (W3C note; from memory), Q = 1/√2.</remarks>
internal readonly struct BandPass
{
    private readonly Section _high;
    private readonly Section _low;

    /// <param name="lowHertz">Lower corner, −3 dB.</param>
    /// <param name="highHertz">Upper corner; at or above 20 kHz there is none.</param>
    public BandPass(double lowHertz, double highHertz)
    {
        _high = Section.Of(lowHertz, high: true);
        _low = highHertz >= 20000 ? Section.Through : Section.Of(highHertz, high: false);
    }

    /// <summary>Filters in place, from rest.</summary>
    public void Run(Span<float> samples)
    {
        _high.Run(samples);
        if (_low != Section.Through)
            _low.Run(samples);
    }

    /// <summary>b0, b1, b2, a1, a2 of a section of second order; a0 is 1.</summary>
    public static double[] Coefficients(double hertz, bool high)
    {
        (double sin, double cos) = Math.SinCos(2 * Math.PI * hertz / MonoSound.AnalysisRate);
        double alpha = sin / Math.Sqrt(2);
        double edge = high ? (1 + cos) / 2 : (1 - cos) / 2;
        double a0 = 1 + alpha;
        return [edge / a0, (high ? -2 : 2) * edge / a0, edge / a0, -2 * cos / a0, (1 - alpha) / a0];
    }

    private readonly record struct Section(double B0, double B1, double B2, double A1, double A2)
    {
        public static Section Through => new(1, 0, 0, 0, 0);

        public static Section Of(double hertz, bool high) => Of(Coefficients(hertz, high));

        private static Section Of(double[] c) => new(c[0], c[1], c[2], c[3], c[4]);

        public void Run(Span<float> samples)
        {
            // Transposed direct form II; doubles keep a 40 Hz corner at 44.1 kHz exact.
            double s1 = 0;
            double s2 = 0;
            for (int i = 0; i < samples.Length; i++)
            {
                double x = samples[i];
                double y = (B0 * x) + s1;
                s1 = (B1 * x) - (A1 * y) + s2;
                s2 = (B2 * x) - (A2 * y);
                samples[i] = (float)y;
            }
        }
    }
}
