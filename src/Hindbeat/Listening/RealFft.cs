using System.Numerics;
using System.Runtime.InteropServices;

namespace Hindbeat.Listening;

/// <summary>
/// Discrete Fourier transform of a real signal whose length is a power of two. X[k] = Σ x[n]·e^(−2πikn/N),
/// unscaled; only the bins 0 to N/2 are given, the others mirror them.
/// </summary>
/// <remarks>
/// The N reals are taken as N/2 complex numbers, transformed by a self-sorting radix-2 scheme (Stockham;
/// C. Van Loan, Computational Frameworks for the Fast Fourier Transform, SIAM 1992, from memory) and
/// untangled. Real and imaginary parts lie in arrays of their own so that all late stages run on whole
/// vectors. Holds its work space: one instance a thread.
/// </remarks>
internal sealed class RealFft
{
    private readonly int _half;
    private readonly float[][] _stageCos;
    private readonly float[][] _stageSin;
    private readonly float[] _untangleCos;
    private readonly float[] _untangleSin;
    private float[] _re;
    private float[] _im;
    private float[] _otherRe;
    private float[] _otherIm;

    /// <param name="length">Number of real samples: a power of two, 8 or more.</param>
    public RealFft(int length)
    {
        if (length < 8 || !BitOperations.IsPow2(length))
            throw new ArgumentOutOfRangeException(nameof(length), length, "The length of a transform must be a power of two, 8 or more.");
        Length = length;
        _half = length / 2;
        int stages = BitOperations.Log2((uint)_half);
        _stageCos = new float[stages][];
        _stageSin = new float[stages][];
        for (int stage = 0, groups = _half / 2; stage < stages; stage++, groups /= 2)
        {
            _stageCos[stage] = new float[groups];
            _stageSin[stage] = new float[groups];
            for (int p = 0; p < groups; p++)
                (_stageSin[stage][p], _stageCos[stage][p]) = SinCos(-Math.PI * p / groups);
        }

        _untangleCos = new float[_half];
        _untangleSin = new float[_half];
        for (int k = 0; k < _half; k++)
            (_untangleSin[k], _untangleCos[k]) = SinCos(-Math.PI * k / _half);
        _re = new float[_half];
        _im = new float[_half];
        _otherRe = new float[_half];
        _otherIm = new float[_half];
    }

    /// <summary>Number of real samples.</summary>
    public int Length { get; }

    /// <summary>Number of bins given: N/2 + 1.</summary>
    public int Bins => _half + 1;

    /// <summary>Transforms <see cref="Length"/> samples; both outputs hold <see cref="Bins"/> values or more.</summary>
    public void Transform(ReadOnlySpan<float> samples, Span<float> real, Span<float> imaginary)
    {
        for (int i = 0; i < _half; i++)
        {
            _re[i] = samples[2 * i];
            _im[i] = samples[(2 * i) + 1];
        }

        for (int stage = 0, stride = 1; stage < _stageCos.Length; stage++, stride *= 2)
        {
            if (stride >= Vector<float>.Count)
                WideStage(stage, stride);
            else
                NarrowStage(stage, stride);
            (_re, _otherRe) = (_otherRe, _re);
            (_im, _otherIm) = (_otherIm, _im);
        }

        Untangle(real, imaginary);
    }

    private void NarrowStage(int stage, int stride)
    {
        float[] cos = _stageCos[stage];
        float[] sin = _stageSin[stage];
        int far = _half / 2;
        for (int p = 0; p < cos.Length; p++)
        {
            float c = cos[p];
            float s = sin[p];
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
        float[] cos = _stageCos[stage];
        float[] sin = _stageSin[stage];
        int far = _half / 2 / Vector<float>.Count;
        int width = stride / Vector<float>.Count;
        ReadOnlySpan<Vector<float>> re = MemoryMarshal.Cast<float, Vector<float>>(_re);
        ReadOnlySpan<Vector<float>> im = MemoryMarshal.Cast<float, Vector<float>>(_im);
        Span<Vector<float>> toRe = MemoryMarshal.Cast<float, Vector<float>>(_otherRe.AsSpan());
        Span<Vector<float>> toIm = MemoryMarshal.Cast<float, Vector<float>>(_otherIm.AsSpan());
        for (int p = 0; p < cos.Length; p++)
        {
            Vector<float> c = new(cos[p]);
            Vector<float> s = new(sin[p]);
            for (int q = 0; q < width; q++)
            {
                int from = (p * width) + q;
                int to = (2 * p * width) + q;
                Vector<float> nearRe = re[from];
                Vector<float> nearIm = im[from];
                Vector<float> farRe = re[from + far];
                Vector<float> farIm = im[from + far];
                Vector<float> differenceRe = nearRe - farRe;
                Vector<float> differenceIm = nearIm - farIm;
                toRe[to] = nearRe + farRe;
                toIm[to] = nearIm + farIm;
                toRe[to + width] = (differenceRe * c) - (differenceIm * s);
                toIm[to + width] = (differenceRe * s) + (differenceIm * c);
            }
        }
    }

    private void Untangle(Span<float> real, Span<float> imaginary)
    {
        real[0] = _re[0] + _im[0];
        imaginary[0] = 0;
        real[_half] = _re[0] - _im[0];
        imaginary[_half] = 0;
        for (int k = 1; k < _half; k++)
        {
            float evenRe = 0.5f * (_re[k] + _re[_half - k]);
            float evenIm = 0.5f * (_im[k] - _im[_half - k]);
            float oddRe = 0.5f * (_im[k] + _im[_half - k]);
            float oddIm = -0.5f * (_re[k] - _re[_half - k]);
            real[k] = evenRe + (_untangleCos[k] * oddRe) - (_untangleSin[k] * oddIm);
            imaginary[k] = evenIm + (_untangleCos[k] * oddIm) + (_untangleSin[k] * oddRe);
        }
    }

    private static (float Sin, float Cos) SinCos(double angle)
    {
        (double sin, double cos) = Math.SinCos(angle);
        return ((float)sin, (float)cos);
    }
}
