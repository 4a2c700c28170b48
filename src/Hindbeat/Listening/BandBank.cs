using System.Runtime.Intrinsics;

namespace Hindbeat.Listening;

/// <summary>
/// Four causal band-passes over the same samples at once: each a high-pass and a low-pass of second order (Butterworth) in a row. Causal because
/// a filter that looks ahead smears a stroke's energy to before its onset.
/// </summary>
/// <remarks>
/// Each is what a <see cref="BandPass"/> is.
/// A recursive filter waits for its own last sample; four side by side take the time of one. Allocates nothing once made; safe to use from several threads.
/// </remarks>
internal sealed class BandBank
{
    public const int Count = 4;

    private readonly Section _high;
    private readonly Section _low;

    /// <param name="bands">Corners in hertz, −3 dB; an upper corner at or above 20 kHz is none.</param>
    public BandBank(ReadOnlySpan<(double Low, double High)> bands)
    {
        if (bands.Length != Count)
            throw new ArgumentException($"A bank has {Count} bands, not {bands.Length}.", nameof(bands));
        double[][] high = new double[Count][];
        double[][] low = new double[Count][];
        for (int i = 0; i < Count; i++)
        {
            high[i] = BandPass.Coefficients(bands[i].Low, high: true);
            low[i] = bands[i].High >= 20000 ? [1, 0, 0, 0, 0] : BandPass.Coefficients(bands[i].High, high: false);
        }

        (_high, _low) = (Section.Of(high), Section.Of(low));
    }

    /// <summary>Filters from rest; each output is as long as <paramref name="samples"/> less the first <paramref name="skip"/>, in which the filters come to rest.</summary>
    public void Run(ReadOnlySpan<float> samples, int skip, Span<float> first, Span<float> second, Span<float> third, Span<float> fourth)
    {
        // Transposed direct form II; doubles keep a 30 Hz corner at 44.1 kHz exact.
        Vector256<double> h1 = default;
        Vector256<double> h2 = default;
        Vector256<double> l1 = default;
        Vector256<double> l2 = default;
        for (int i = 0; i < samples.Length; i++)
        {
            Vector256<double> x = Vector256.Create((double)samples[i]);
            Vector256<double> y = (_high.B0 * x) + h1;
            h1 = (_high.B1 * x) - (_high.A1 * y) + h2;
            h2 = (_high.B2 * x) - (_high.A2 * y);
            Vector256<double> z = (_low.B0 * y) + l1;
            l1 = (_low.B1 * y) - (_low.A1 * z) + l2;
            l2 = (_low.B2 * y) - (_low.A2 * z);
            int at = i - skip;
            if (at < 0)
                continue;
            first[at] = (float)z.GetElement(0);
            second[at] = (float)z.GetElement(1);
            third[at] = (float)z.GetElement(2);
            fourth[at] = (float)z.GetElement(3);
        }
    }

    private readonly record struct Section(Vector256<double> B0, Vector256<double> B1, Vector256<double> B2, Vector256<double> A1, Vector256<double> A2)
    {
        public static Section Of(double[][] bands)
        {
            Vector256<double> Lanes(int i) => Vector256.Create(bands[0][i], bands[1][i], bands[2][i], bands[3][i]);
            return new Section(Lanes(0), Lanes(1), Lanes(2), Lanes(3), Lanes(4));
        }
    }
}
