using System.Diagnostics.CodeAnalysis;
using System.Numerics;
using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;
using System.Runtime.Intrinsics.X86;

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
        if (Avx.IsSupported)
        {
            TakeByBlocks(samples, hop, taper, re, im);
        }
        else
        {
            for (int n = 0; n < _half; n++)
            {
                re[n] = Across(samples, 2 * n, hop) * taper[2 * n];
                im[n] = Across(samples, (2 * n) + 1, hop) * taper[(2 * n) + 1];
            }
        }

        Transform();
        UntanglePowers(Vectors(powers));
    }

    /// <summary>Eight samples of each of the eight frames at a time, tapered as they lie and turned by shuffles: half the work of gathering them one by one.</summary>
    private static void TakeByBlocks(ReadOnlySpan<float> samples, int hop, ReadOnlySpan<float> taper, Span<Vector256<float>> re, Span<Vector256<float>> im)
    {
        for (int n = 0; n < taper.Length; n += Lanes)
        {
            Vector256<float> weights = Vector256.Create(taper[n..]);
            Vector256<float> a = Vector256.Create(samples[n..]) * weights;
            Vector256<float> b = Vector256.Create(samples[(n + hop)..]) * weights;
            Vector256<float> c = Vector256.Create(samples[(n + (2 * hop))..]) * weights;
            Vector256<float> d = Vector256.Create(samples[(n + (3 * hop))..]) * weights;
            Vector256<float> e = Vector256.Create(samples[(n + (4 * hop))..]) * weights;
            Vector256<float> f = Vector256.Create(samples[(n + (5 * hop))..]) * weights;
            Vector256<float> g = Vector256.Create(samples[(n + (6 * hop))..]) * weights;
            Vector256<float> h = Vector256.Create(samples[(n + (7 * hop))..]) * weights;
            (Vector256<float> ab0, Vector256<float> ab2) = (Avx.UnpackLow(a, b), Avx.UnpackHigh(a, b));
            (Vector256<float> cd0, Vector256<float> cd2) = (Avx.UnpackLow(c, d), Avx.UnpackHigh(c, d));
            (Vector256<float> ef0, Vector256<float> ef2) = (Avx.UnpackLow(e, f), Avx.UnpackHigh(e, f));
            (Vector256<float> gh0, Vector256<float> gh2) = (Avx.UnpackLow(g, h), Avx.UnpackHigh(g, h));
            int at = n / 2;
            Place(ab0, cd0, ef0, gh0, 0b01_00_01_00, re, at);
            Place(ab0, cd0, ef0, gh0, 0b11_10_11_10, im, at);
            Place(ab2, cd2, ef2, gh2, 0b01_00_01_00, re, at + 1);
            Place(ab2, cd2, ef2, gh2, 0b11_10_11_10, im, at + 1);
        }
    }

    /// <summary>One sample of eight frames from the lower halves and, two numbers on, one from the upper halves.</summary>
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    private static void Place(Vector256<float> ab, Vector256<float> cd, Vector256<float> ef, Vector256<float> gh, [ConstantExpected] byte which, Span<Vector256<float>> to, int at)
    {
        Vector256<float> four = Avx.Shuffle(ab, cd, which);
        Vector256<float> others = Avx.Shuffle(ef, gh, which);
        to[at] = Avx.Permute2x128(four, others, 0x20);
        to[at + 2] = Avx.Permute2x128(four, others, 0x31);
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

        // All four hold _half vectors, which the loops cover exactly; checking each index cost a fifth.
        ref Vector256<float> re = ref MemoryMarshal.GetReference(Vectors(_re));
        ref Vector256<float> im = ref MemoryMarshal.GetReference(Vectors(_im));
        ref Vector256<float> toRe = ref MemoryMarshal.GetReference(Vectors(_otherRe));
        ref Vector256<float> toIm = ref MemoryMarshal.GetReference(Vectors(_otherIm));
        for (int p = 0; p < quarter; p++)
        {
            // e^(−2πip/groups): every stride-th of the table.
            (Vector256<float> c1, Vector256<float> s1) = (Vector256.Create(_cos[p * stride]), Vector256.Create(_sin[p * stride]));
            (Vector256<float> c2, Vector256<float> s2) = (Vector256.Create(_cos[2 * p * stride]), Vector256.Create(_sin[2 * p * stride]));
            (Vector256<float> c3, Vector256<float> s3) = (Vector256.Create(_cos[3 * p * stride]), Vector256.Create(_sin[3 * p * stride]));
            for (int q = 0; q < stride; q++)
            {
                nint from = (p * stride) + q;
                nint to = (4 * p * stride) + q;
                (Vector256<float> re0, Vector256<float> re1, Vector256<float> re2, Vector256<float> re3) = (Unsafe.Add(ref re, from), Unsafe.Add(ref re, from + far), Unsafe.Add(ref re, from + (2 * far)), Unsafe.Add(ref re, from + (3 * far)));
                (Vector256<float> im0, Vector256<float> im1, Vector256<float> im2, Vector256<float> im3) = (Unsafe.Add(ref im, from), Unsafe.Add(ref im, from + far), Unsafe.Add(ref im, from + (2 * far)), Unsafe.Add(ref im, from + (3 * far)));
                Vector256<float> sumRe = re0 + re2;
                Vector256<float> sumIm = im0 + im2;
                Vector256<float> differenceRe = re0 - re2;
                Vector256<float> differenceIm = im0 - im2;
                Vector256<float> otherSumRe = re1 + re3;
                Vector256<float> otherSumIm = im1 + im3;

                // i times the difference of the other two.
                Vector256<float> turnedRe = im3 - im1;
                Vector256<float> turnedIm = re1 - re3;
                Unsafe.Add(ref toRe, to) = sumRe + otherSumRe;
                Unsafe.Add(ref toIm, to) = sumIm + otherSumIm;
                Vector256<float> aRe = differenceRe - turnedRe;
                Vector256<float> aIm = differenceIm - turnedIm;
                Vector256<float> bRe = sumRe - otherSumRe;
                Vector256<float> bIm = sumIm - otherSumIm;
                Vector256<float> dRe = differenceRe + turnedRe;
                Vector256<float> dIm = differenceIm + turnedIm;
                Unsafe.Add(ref toRe, to + stride) = Vector256.MultiplyAddEstimate(aRe, c1, -(aIm * s1));
                Unsafe.Add(ref toIm, to + stride) = Vector256.MultiplyAddEstimate(aRe, s1, aIm * c1);
                Unsafe.Add(ref toRe, to + (2 * stride)) = Vector256.MultiplyAddEstimate(bRe, c2, -(bIm * s2));
                Unsafe.Add(ref toIm, to + (2 * stride)) = Vector256.MultiplyAddEstimate(bRe, s2, bIm * c2);
                Unsafe.Add(ref toRe, to + (3 * stride)) = Vector256.MultiplyAddEstimate(dRe, c3, -(dIm * s3));
                Unsafe.Add(ref toIm, to + (3 * stride)) = Vector256.MultiplyAddEstimate(dRe, s3, dIm * c3);
            }
        }
    }

    private void LastTwo(int stride)
    {
        ReadOnlySpan<Vector256<float>> re = Vectors(_re)[..stride];
        ReadOnlySpan<Vector256<float>> im = Vectors(_im)[..stride];
        ReadOnlySpan<Vector256<float>> farRe = Vectors(_re).Slice(stride, stride);
        ReadOnlySpan<Vector256<float>> farIm = Vectors(_im).Slice(stride, stride);
        Span<Vector256<float>> toRe = Vectors(_otherRe)[..stride];
        Span<Vector256<float>> toIm = Vectors(_otherIm)[..stride];
        Span<Vector256<float>> toFarRe = Vectors(_otherRe).Slice(stride, stride);
        Span<Vector256<float>> toFarIm = Vectors(_otherIm).Slice(stride, stride);
        for (int q = 0; q < re.Length; q++)
        {
            (Vector256<float> nearRe, Vector256<float> nearIm) = (re[q], im[q]);
            toRe[q] = nearRe + farRe[q];
            toIm[q] = nearIm + farIm[q];
            toFarRe[q] = nearRe - farRe[q];
            toFarIm[q] = nearIm - farIm[q];
        }
    }

    /// <summary>Two bins that mirror each other share their sums: X[k] = e + w·o and X[N/2 − k] = conj(e − w·o).</summary>
    private void UntanglePowers(Span<Vector256<float>> powers)
    {
        ReadOnlySpan<Vector256<float>> re = Vectors(_re);
        ReadOnlySpan<Vector256<float>> im = Vectors(_im);
        (Vector256<float> first, Vector256<float> last) = (re[0] + im[0], re[0] - im[0]);
        (powers[0], powers[_half]) = (first * first, last * last);
        for (int k = 1; k <= _half / 2; k++)
        {
            (Vector256<float> nearRe, Vector256<float> nearIm, Vector256<float> mirrorRe, Vector256<float> mirrorIm) = (re[k], im[k], re[_half - k], im[_half - k]);
            Vector256<float> evenRe = (nearRe + mirrorRe) * 0.5f;
            Vector256<float> evenIm = (nearIm - mirrorIm) * 0.5f;
            Vector256<float> oddRe = (nearIm + mirrorIm) * 0.5f;
            Vector256<float> oddIm = (mirrorRe - nearRe) * 0.5f;
            (Vector256<float> cos, Vector256<float> sin) = (Vector256.Create(_untangleCos[k]), Vector256.Create(_untangleSin[k]));
            Vector256<float> turnedRe = Vector256.MultiplyAddEstimate(oddRe, cos, -(oddIm * sin));
            Vector256<float> turnedIm = Vector256.MultiplyAddEstimate(oddIm, cos, oddRe * sin);
            powers[k] = Squared(evenRe + turnedRe, evenIm + turnedIm);
            powers[_half - k] = Squared(evenRe - turnedRe, evenIm - turnedIm);
        }
    }

    private static Vector256<float> Squared(Vector256<float> re, Vector256<float> im) => Vector256.MultiplyAddEstimate(re, re, im * im);
}
