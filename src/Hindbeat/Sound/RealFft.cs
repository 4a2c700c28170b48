using System.Numerics;
using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;

namespace Hindbeat.Sound;

/// <summary>
/// Powers of eight frames of a real signal at once: |X[k]|², X[k] = Σ x[n]·e^(−2πikn/N), unscaled, N a power of two.
/// Only the bins 0 to N/2 are given, the others mirror them.
/// </summary>
/// <remarks>
/// The N reals of a lane are taken as N/2 complex numbers, transformed by a self-sorting radix-4 scheme (Stockham; C. Van Loan, Computational Frameworks for the Fast Fourier
/// Transform, SIAM 1992, from memory) and untangled. Frames of a spectrogram come by the hundred, so eight go through at once, one in each lane of a vector: no stage then
/// needs to shuffle within a vector, whatever its stride. Value n of lane l lies at 8·n + l. Holds its work space: one instance a thread; allocates nothing after it is made.
/// </remarks>
internal sealed class RealFft
{
    /// <summary>Transforms made at once.</summary>
    public const int Lanes = 8;

    private readonly int _half;
    private readonly float[] _cos;
    private readonly float[] _sin;
    private readonly float[] _untangleCos;
    private readonly float[] _untangleSin;
    private float[] _re;
    private float[] _im;
    private float[] _otherRe;
    private float[] _otherIm;

    /// <param name="length">Number of samples in a frame: a power of two, 8 or more.</param>
    public RealFft(int length)
    {
        if (length < 8 || !BitOperations.IsPow2(length))
            throw new ArgumentOutOfRangeException(nameof(length), length, "The length of a transform must be a power of two, 8 or more.");
        Length = length;
        _half = length / 2;
        _cos = [.. Enumerable.Range(0, _half).Select(k => (float)Math.Cos(2 * Math.PI * k / _half))];
        _sin = [.. Enumerable.Range(0, _half).Select(k => (float)-Math.Sin(2 * Math.PI * k / _half))];
        _untangleCos = [.. Enumerable.Range(0, _half).Select(k => (float)Math.Cos(Math.PI * k / _half))];
        _untangleSin = [.. Enumerable.Range(0, _half).Select(k => (float)-Math.Sin(Math.PI * k / _half))];
        (_re, _im, _otherRe, _otherIm) = (new float[_half * Lanes], new float[_half * Lanes], new float[_half * Lanes], new float[_half * Lanes]);
    }

    /// <summary>Number of samples in a frame.</summary>
    public int Length { get; }

    /// <summary>Number of bins given: N/2 + 1.</summary>
    public int Bins => _half + 1;

    /// <summary>
    /// |X[k]|² of eight frames that lie <paramref name="hop"/> samples apart in one sound, each multiplied by the taper.
    /// </summary>
    /// <param name="samples">From the first sample of the first frame on; 7·hop + <see cref="Length"/> of them.</param>
    /// <param name="taper"><see cref="Length"/> values.</param>
    /// <param name="powers"><see cref="Bins"/> rows of eight.</param>
    public void Powers(ReadOnlySpan<float> samples, int hop, ReadOnlySpan<float> taper, Span<float> powers)
    {
        Span<Vector256<float>> re = Vectors(_re);
        Span<Vector256<float>> im = Vectors(_im);
        samples = samples[..((7 * hop) + Length)];
        taper = taper[..Length];
        for (int n = 0; n < _half; n++)
        {
            re[n] = Across(samples, 2 * n, hop) * taper[2 * n];
            im[n] = Across(samples, (2 * n) + 1, hop) * taper[(2 * n) + 1];
        }

        Transform();
        UntanglePowers(Vectors(powers));
    }

    private static Vector256<float> Across(ReadOnlySpan<float> samples, int n, int hop) => Vector256.Create(
        samples[n], samples[n + hop], samples[n + (2 * hop)], samples[n + (3 * hop)], samples[n + (4 * hop)], samples[n + (5 * hop)], samples[n + (6 * hop)], samples[n + (7 * hop)]);

    private static Span<Vector256<float>> Vectors(Span<float> values) => MemoryMarshal.Cast<float, Vector256<float>>(values);

    /// <summary>The complex transform of _re and _im, in place as it seems from outside.</summary>
    private void Transform()
    {
        int stride = 1;
        for (int groups = _half; groups > 1; )
        {
            if (groups == 2)
            {
                LastTwo(stride);
                groups = 1;
            }
            else
            {
                ByFour(groups, stride);
                groups /= 4;
                stride *= 4;
            }

            (_re, _otherRe) = (_otherRe, _re);
            (_im, _otherIm) = (_otherIm, _im);
        }
    }

    private void ByFour(int groups, int stride)
    {
        int quarter = groups / 4;
        int far = quarter * stride;
        ReadOnlySpan<Vector256<float>> re = Vectors(_re);
        ReadOnlySpan<Vector256<float>> im = Vectors(_im);
        Span<Vector256<float>> toRe = Vectors(_otherRe);
        Span<Vector256<float>> toIm = Vectors(_otherIm);
        for (int p = 0; p < quarter; p++)
        {
            // e^(−2πip/groups): every stride-th of the table.
            (float c1, float s1) = (_cos[p * stride], _sin[p * stride]);
            (float c2, float s2) = (_cos[2 * p * stride], _sin[2 * p * stride]);
            (float c3, float s3) = (_cos[3 * p * stride], _sin[3 * p * stride]);
            for (int q = 0; q < stride; q++)
            {
                int from = (p * stride) + q;
                int to = (4 * p * stride) + q;
                Vector256<float> sumRe = re[from] + re[from + (2 * far)];
                Vector256<float> sumIm = im[from] + im[from + (2 * far)];
                Vector256<float> differenceRe = re[from] - re[from + (2 * far)];
                Vector256<float> differenceIm = im[from] - im[from + (2 * far)];
                Vector256<float> otherSumRe = re[from + far] + re[from + (3 * far)];
                Vector256<float> otherSumIm = im[from + far] + im[from + (3 * far)];

                // i times the difference of the other two.
                Vector256<float> turnedRe = im[from + (3 * far)] - im[from + far];
                Vector256<float> turnedIm = re[from + far] - re[from + (3 * far)];
                toRe[to] = sumRe + otherSumRe;
                toIm[to] = sumIm + otherSumIm;
                Vector256<float> aRe = differenceRe - turnedRe;
                Vector256<float> aIm = differenceIm - turnedIm;
                Vector256<float> bRe = sumRe - otherSumRe;
                Vector256<float> bIm = sumIm - otherSumIm;
                Vector256<float> dRe = differenceRe + turnedRe;
                Vector256<float> dIm = differenceIm + turnedIm;
                toRe[to + stride] = (aRe * c1) - (aIm * s1);
                toIm[to + stride] = (aRe * s1) + (aIm * c1);
                toRe[to + (2 * stride)] = (bRe * c2) - (bIm * s2);
                toIm[to + (2 * stride)] = (bRe * s2) + (bIm * c2);
                toRe[to + (3 * stride)] = (dRe * c3) - (dIm * s3);
                toIm[to + (3 * stride)] = (dRe * s3) + (dIm * c3);
            }
        }
    }

    private void LastTwo(int stride)
    {
        ReadOnlySpan<Vector256<float>> re = Vectors(_re);
        ReadOnlySpan<Vector256<float>> im = Vectors(_im);
        Span<Vector256<float>> toRe = Vectors(_otherRe);
        Span<Vector256<float>> toIm = Vectors(_otherIm);
        for (int q = 0; q < stride; q++)
        {
            toRe[q] = re[q] + re[q + stride];
            toIm[q] = im[q] + im[q + stride];
            toRe[q + stride] = re[q] - re[q + stride];
            toIm[q + stride] = im[q] - im[q + stride];
        }
    }

    private void UntanglePowers(Span<Vector256<float>> powers)
    {
        ReadOnlySpan<Vector256<float>> re = Vectors(_re);
        ReadOnlySpan<Vector256<float>> im = Vectors(_im);
        for (int k = 0; k <= _half; k++)
        {
            (Vector256<float> real, Vector256<float> imaginary) = Untangled(re, im, k);
            powers[k] = (real * real) + (imaginary * imaginary);
        }
    }

    private (Vector256<float> Re, Vector256<float> Im) Untangled(ReadOnlySpan<Vector256<float>> re, ReadOnlySpan<Vector256<float>> im, int k)
    {
        if (k == 0)
            return (re[0] + im[0], Vector256<float>.Zero);
        if (k == _half)
            return (re[0] - im[0], Vector256<float>.Zero);
        Vector256<float> evenRe = (re[k] + re[_half - k]) * 0.5f;
        Vector256<float> evenIm = (im[k] - im[_half - k]) * 0.5f;
        Vector256<float> oddRe = (im[k] + im[_half - k]) * 0.5f;
        Vector256<float> oddIm = (re[_half - k] - re[k]) * 0.5f;
        return (evenRe + (oddRe * _untangleCos[k]) - (oddIm * _untangleSin[k]), evenIm + (oddIm * _untangleCos[k]) + (oddRe * _untangleSin[k]));
    }
}
