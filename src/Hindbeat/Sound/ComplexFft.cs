using System.Numerics;
using System.Runtime.InteropServices;

namespace Hindbeat.Sound;

/// <summary>
/// Discrete Fourier transform of N complex numbers, N a power of two: X[k] = Σ x[n]·e^(−2πikn/N), unscaled. Two
/// real channels go through at once as x = left + i·right. The inverse is the same with real and imaginary
/// parts exchanged, and N times as large.
/// </summary>
/// <remarks>
/// Self-sorting radix-2 scheme (Stockham; C. Van Loan, Computational Frameworks for the Fast Fourier
/// Transform, SIAM 1992, from memory). Holds its work space: one instance a thread. Allocates nothing.
/// </remarks>
internal sealed class ComplexFft
{
    private readonly float[][] _cos;
    private readonly float[][] _sin;
    private float[] _re;
    private float[] _im;
    private float[] _otherRe;
    private float[] _otherIm;

    public ComplexFft(int length)
    {
        if (length < 8 || !BitOperations.IsPow2(length))
            throw new ArgumentOutOfRangeException(nameof(length), length, "The length of a transform must be a power of two, 8 or more.");
        Length = length;
        int stages = BitOperations.Log2((uint)length);
        _cos = new float[stages][];
        _sin = new float[stages][];
        for (int stage = 0, groups = length / 2; stage < stages; stage++, groups /= 2)
        {
            _cos[stage] = [.. Enumerable.Range(0, groups).Select(p => (float)Math.Cos(Math.PI * p / groups))];
            _sin[stage] = [.. Enumerable.Range(0, groups).Select(p => (float)-Math.Sin(Math.PI * p / groups))];
        }

        (_re, _im, _otherRe, _otherIm) = (new float[length], new float[length], new float[length], new float[length]);
    }

    public int Length { get; }

    /// <summary>In place; both spans hold <see cref="Length"/> numbers.</summary>
    public void Transform(Span<float> real, Span<float> imaginary)
    {
        real.CopyTo(_re);
        imaginary.CopyTo(_im);
        for (int stage = 0, stride = 1; stage < _cos.Length; stage++, stride *= 2)
        {
            if (stride >= Vector<float>.Count)
                WideStage(stage, stride);
            else
                NarrowStage(stage, stride);
            (_re, _otherRe) = (_otherRe, _re);
            (_im, _otherIm) = (_otherIm, _im);
        }

        _re.CopyTo(real);
        _im.CopyTo(imaginary);
    }

    private void NarrowStage(int stage, int stride)
    {
        int far = Length / 2;
        for (int p = 0; p < _cos[stage].Length; p++)
        {
            (float c, float s) = (_cos[stage][p], _sin[stage][p]);
            for (int q = 0; q < stride; q++)
            {
                int from = (p * stride) + q;
                int to = (2 * p * stride) + q;
                float differenceRe = _re[from] - _re[from + far];
                float differenceIm = _im[from] - _im[from + far];
                _otherRe[to] = _re[from] + _re[from + far];
                _otherIm[to] = _im[from] + _im[from + far];
                _otherRe[to + stride] = (differenceRe * c) - (differenceIm * s);
                _otherIm[to + stride] = (differenceRe * s) + (differenceIm * c);
            }
        }
    }

    private void WideStage(int stage, int stride)
    {
        int far = Length / 2 / Vector<float>.Count;
        int width = stride / Vector<float>.Count;
        ReadOnlySpan<Vector<float>> re = MemoryMarshal.Cast<float, Vector<float>>(_re);
        ReadOnlySpan<Vector<float>> im = MemoryMarshal.Cast<float, Vector<float>>(_im);
        Span<Vector<float>> toRe = MemoryMarshal.Cast<float, Vector<float>>(_otherRe.AsSpan());
        Span<Vector<float>> toIm = MemoryMarshal.Cast<float, Vector<float>>(_otherIm.AsSpan());
        for (int p = 0; p < _cos[stage].Length; p++)
        {
            Vector<float> c = new(_cos[stage][p]);
            Vector<float> s = new(_sin[stage][p]);
            for (int q = 0; q < width; q++)
            {
                int from = (p * width) + q;
                int to = (2 * p * width) + q;
                Vector<float> differenceRe = re[from] - re[from + far];
                Vector<float> differenceIm = im[from] - im[from + far];
                toRe[to] = re[from] + re[from + far];
                toIm[to] = im[from] + im[from + far];
                toRe[to + width] = (differenceRe * c) - (differenceIm * s);
                toIm[to + width] = (differenceRe * s) + (differenceIm * c);
            }
        }
    }
}
