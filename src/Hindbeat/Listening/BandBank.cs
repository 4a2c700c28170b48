using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;

namespace Hindbeat.Listening;

/// <summary>
/// Four causal band-passes over the same samples at once: each a high-pass and a low-pass of second order (Butterworth) in a row. Causal because
/// a filter that looks ahead smears a stroke's energy to before its onset.
/// </summary>
/// <remarks>
/// Each is what a <see cref="BandPass"/> is.
/// A recursive filter waits for its own last sample; four side by side take the time of one, and in direct form I, where all but one product is known before that sample is,
/// a third of the time of the transposed form. Allocates nothing once made; safe to use from several threads.
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
    /// <param name="energy">Row i of four: each band's squares up to (not including) its output i, summed; one row more than outputs.</param>
    public void Run(ReadOnlySpan<float> samples, int skip, Span<float> first, Span<float> second, Span<float> third, Span<float> fourth, Span<double> energy)
    {
        // Doubles keep a 30 Hz corner at 44.1 kHz exact.
        Vector256<double> x1 = default;
        Vector256<double> x2 = default;
        Vector256<double> y1 = default;
        Vector256<double> y2 = default;
        Vector256<double> z1 = default;
        Vector256<double> z2 = default;
        foreach (float sample in samples[..skip])
            Next(sample, ref x1, ref x2, ref y1, ref y2, ref z1, ref z2);
        samples = samples[skip..];
        Span<Vector256<double>> sums = MemoryMarshal.Cast<double, Vector256<double>>(energy)[..(samples.Length + 1)];
        Vector256<double> sum = sums[0] = default;
        int i = 0;
        for (; i + 1 < samples.Length; i += 2)
        {
            Next(samples[i], ref x1, ref x2, ref y1, ref y2, ref z1, ref z2);
            Next(samples[i + 1], ref x1, ref x2, ref y1, ref y2, ref z1, ref z2);
            sums[i + 1] = sum = Vector256.MultiplyAddEstimate(z2, z2, sum);
            sums[i + 2] = sum = Vector256.MultiplyAddEstimate(z1, z1, sum);

            // Two outputs of a band side by side go to memory as one.
            Vector256<double> pairs = Vector256.Shuffle(Vector256.Narrow(z2, z1), Vector256.Create(0, 4, 1, 5, 2, 6, 3, 7)).AsDouble();
            Write(first, i, pairs.GetElement(0));
            Write(second, i, pairs.GetElement(1));
            Write(third, i, pairs.GetElement(2));
            Write(fourth, i, pairs.GetElement(3));
        }

        if (i < samples.Length)
        {
            Next(samples[i], ref x1, ref x2, ref y1, ref y2, ref z1, ref z2);
            sums[i + 1] = sum + (z1 * z1);
            (first[i], second[i], third[i], fourth[i]) = ((float)z1[0], (float)z1[1], (float)z1[2], (float)z1[3]);
        }
    }

    /// <param name="x1">The last sample; x2 the one before, y1 and y2 the high-passes' outputs, z1 and z2 the low-passes'.</param>
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    private void Next(
        float sample, ref Vector256<double> x1, ref Vector256<double> x2, ref Vector256<double> y1, ref Vector256<double> y2, ref Vector256<double> z1, ref Vector256<double> z2)
    {
        Vector256<double> x = Vector256.Create((double)sample);
        Next(x, x1, x2, ref y1, ref y2, ref z1, ref z2);
        (x2, x1) = (x1, x);
    }

    /// <summary>One sample on, for several banks that hear the same samples.</summary>
    /// <param name="x">The sample; x1 and x2 the last two.</param>
    /// <param name="y1">The high-passes' last outputs; z1 and z2 the low-passes', of which z1 becomes the newest.</param>
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    internal void Next(
        Vector256<double> x, Vector256<double> x1, Vector256<double> x2, ref Vector256<double> y1, ref Vector256<double> y2, ref Vector256<double> z1, ref Vector256<double> z2)
    {
        Vector256<double> known = Vector256.MultiplyAddEstimate(_high.B1, x1, Vector256.MultiplyAddEstimate(_high.B2, x2, _high.B0 * x));
        Vector256<double> y = Vector256.MultiplyAddEstimate(_high.A1, y1, Vector256.MultiplyAddEstimate(_high.A2, y2, known));
        Vector256<double> knownToo = Vector256.MultiplyAddEstimate(_low.B1, y1, Vector256.MultiplyAddEstimate(_low.B2, y2, _low.A2 * z2));
        Vector256<double> z = Vector256.MultiplyAddEstimate(_low.A1, z1, Vector256.MultiplyAddEstimate(_low.B0, y, knownToo));
        (y2, y1, z2, z1) = (y1, y, z1, z);
    }

    private static void Write(Span<float> band, int at, double pair) => MemoryMarshal.Write(MemoryMarshal.AsBytes(band.Slice(at, 2)), pair);

    private readonly record struct Section(Vector256<double> B0, Vector256<double> B1, Vector256<double> B2, Vector256<double> A1, Vector256<double> A2)
    {
        /// <summary>A1 and A2 with their signs turned: all is added.</summary>
        public static Section Of(double[][] bands)
        {
            Vector256<double> Lanes(int i) => Vector256.Create(bands[0][i], bands[1][i], bands[2][i], bands[3][i]);
            return new Section(Lanes(0), Lanes(1), Lanes(2), -Lanes(3), -Lanes(4));
        }
    }
}
