using System.Runtime.Intrinsics;

namespace Hindbeat.Listening;

/// <summary>Energy of the same samples in twelve bands at once, stretch by stretch: the filters of <see cref="BandBank"/>, three banks side by side, without their outputs.</summary>
/// <remarks>A recursive filter waits for its own last sample; three banks of four take less than twice the time of one. Allocates nothing once made; one instance a thread.</remarks>
internal sealed class BandEnergies
{
    public const int Count = 3 * BandBank.Count;

    private readonly BandBank[] _banks;

    /// <param name="bands">Corners in hertz, as for <see cref="BandBank"/>.</param>
    public BandEnergies(ReadOnlySpan<(double Low, double High)> bands)
    {
        if (bands.Length != Count)
            throw new ArgumentException($"There are {Count} bands, not {bands.Length}.", nameof(bands));
        _banks = [new(bands[..4]), new(bands[4..8]), new(bands[8..])];
    }

    /// <summary>Filters from rest through all stretches, which follow one another.</summary>
    /// <param name="late">The first so many samples, all of the first stretch at most, go through the first four bands alone: the lowest need longest to come to rest.</param>
    /// <param name="ends">First sample behind each stretch, ascending.</param>
    /// <param name="energy">Sum of squares, a row of <see cref="Count"/> a stretch.</param>
    public void Run(ReadOnlySpan<float> samples, int late, ReadOnlySpan<int> ends, Span<double> energy)
    {
        (BandBank first, BandBank second, BandBank third) = (_banks[0], _banks[1], _banks[2]);
        Vector256<double> x1 = default, x2 = default;
        Vector256<double> ya1 = default, ya2 = default, za1 = default, za2 = default;
        Vector256<double> yb1 = default, yb2 = default, zb1 = default, zb2 = default;
        Vector256<double> yc1 = default, yc2 = default, zc1 = default, zc2 = default;
        foreach (float sample in samples[..late])
        {
            Vector256<double> x = Vector256.Create((double)sample);
            first.Next(x, x1, x2, ref ya1, ref ya2, ref za1, ref za2);
            (x2, x1) = (x1, x);
        }

        int at = late;
        for (int k = 0; k < ends.Length; k++)
        {
            Vector256<double> sumA = default, sumB = default, sumC = default;
            foreach (float sample in samples[at..ends[k]])
            {
                Vector256<double> x = Vector256.Create((double)sample);
                first.Next(x, x1, x2, ref ya1, ref ya2, ref za1, ref za2);
                second.Next(x, x1, x2, ref yb1, ref yb2, ref zb1, ref zb2);
                third.Next(x, x1, x2, ref yc1, ref yc2, ref zc1, ref zc2);
                (x2, x1) = (x1, x);
                sumA = Vector256.MultiplyAddEstimate(za1, za1, sumA);
                sumB = Vector256.MultiplyAddEstimate(zb1, zb1, sumB);
                sumC = Vector256.MultiplyAddEstimate(zc1, zc1, sumC);
            }

            Span<double> row = energy.Slice(k * Count, Count);
            sumA.CopyTo(row);
            sumB.CopyTo(row[4..]);
            sumC.CopyTo(row[8..]);
            at = ends[k];
        }
    }
}
