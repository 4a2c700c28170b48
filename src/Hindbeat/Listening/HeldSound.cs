using System.Numerics.Tensors;
using Hindbeat.Sound;

namespace Hindbeat.Listening;

/// <summary>
/// What was sounding before a moment, held on past it and taken off a band: tones of music, a drum's own ring and a room's hum go on as they were, a stroke does not.
/// </summary>
/// <remarks>
/// The 50 ms before are read as an autoregressive process (Burg's method; S. Marple, Digital Spectral Analysis, 1987, from memory) at a rate that the band needs, and its equation is let run on
/// without input. Noise does not go on: its continuation dies away, and then nothing is taken off. docs/decisions/listening-peeled.md holds the measurements.
/// One instance a thread; <see cref="TakeOff"/> allocates nothing.
/// </remarks>
internal sealed class HeldSound
{
    private const int Rate = StrokeView.Rate;

    /// <summary>Longest band that anything is taken off.</summary>
    public const int Longest = (int)(0.030 * Rate);

    private const int Context = (int)(0.050 * Rate);

    /// <summary>Of the equation; 32 left more of a bass.</summary>
    private const int Order = 64;

    /// <summary>The filters come to rest in this time.</summary>
    private const int WarmUp = (int)(0.025 * Rate);

    /// <summary>The filter between the rates reaches this many coarse samples to either side and ends at this share of the lower rate's upper limit.</summary>
    private const int Taps = 6;
    private const double Edge = 0.95;

    private readonly BandPass _band;
    private readonly int _step;
    private readonly int _known;
    private readonly float[] _filter;
    private readonly float[] _samples = new float[WarmUp + Context];
    private readonly double[] _coarse;
    private readonly double[] _forward;
    private readonly double[] _backward;
    private readonly double[] _equation = new double[Order + 1];
    private readonly double[] _last = new double[Order + 1];

    /// <param name="band">Hertz; the filter that the bands given to <see cref="TakeOff"/> went through.</param>
    public HeldSound((double Low, double High) band)
    {
        _band = new BandPass(band.Low, band.High);
        _step = Math.Max(1, (int)(Rate / (3 * band.High)));
        _known = (Context / _step) - (2 * Taps);
        if (_known < 2 * Order)
            throw new ArgumentException($"A band up to {band.High} Hz leaves too few samples for an equation of order {Order}.", nameof(band));
        _filter = new float[(2 * Taps * _step) + 1];
        for (int i = 0; i < _filter.Length; i++)
        {
            double x = (double)(i - (Taps * _step)) / _step;
            double sinc = x == 0 ? 1 : Math.Sin(Math.PI * x * Edge) / (Math.PI * x * Edge);
            _filter[i] = (float)(Edge * sinc * (0.5 + (0.5 * Math.Cos(Math.PI * x / (Taps + 0.01)))));
        }

        _coarse = new double[_known + (Longest / _step) + (2 * Taps) + 2];
        _forward = new double[_known];
        _backward = new double[_known];
    }

    /// <param name="start">Sample of the recording that the band begins with; what sounds before it is held on.</param>
    /// <param name="band">At most <see cref="Longest"/> samples.</param>
    public void TakeOff(MonoSound sound, long start, Span<float> band)
    {
        ArgumentOutOfRangeException.ThrowIfGreaterThan(band.Length, Longest, nameof(band));
        sound.Read(start - Context - WarmUp, _samples);
        _band.Run(_samples);
        double power = 0;
        for (int j = 0; j < _known; j++)
        {
            double value = TensorPrimitives.Dot<float>(_samples.AsSpan(_samples.Length + Place(j) - (Taps * _step), _filter.Length), _filter) / _step;
            _coarse[j] = value;
            power += value * value;
        }

        if (!(power > 1e-16))
            return;
        FindEquation();
        int end = _known + (band.Length / _step) + (2 * Taps) + 2;
        for (int j = _known; j < end; j++)
        {
            double next = 0;
            for (int k = 1; k <= Order; k++)
                next -= _equation[k] * _coarse[j - k];
            _coarse[j] = next;
        }

        for (int i = 0; i < band.Length; i++)
        {
            double held = 0;
            int first = _known + ((i + _step) / _step) - 1;
            for (int j = first; j < end && Place(j) - i <= Taps * _step; j++)
                held += _coarse[j] * _filter[Place(j) - i + (Taps * _step)];
            band[i] -= (float)held;
        }
    }

    /// <summary>Where a coarse sample lies, samples from the band's first. The last known one is made of nothing at or after it.</summary>
    private int Place(int coarse) => ((coarse - _known + 1 - Taps) * _step) - 1;

    private void FindEquation()
    {
        _coarse.AsSpan(0, _known).CopyTo(_forward);
        _coarse.AsSpan(0, _known).CopyTo(_backward);
        Array.Clear(_equation);
        _equation[0] = 1;
        for (int order = 1; order <= Order; order++)
        {
            Span<double> forward = _forward.AsSpan(order), backward = _backward.AsSpan(0, _known - order);
            double power = TensorPrimitives.SumOfSquares<double>(forward) + TensorPrimitives.SumOfSquares<double>(backward) + 1e-30;
            double reflection = -2 * TensorPrimitives.Dot<double>(forward, backward) / power;
            _equation.AsSpan(0, order + 1).CopyTo(_last);
            for (int i = 1; i <= order; i++)
                _equation[i] = _last[i] + (reflection * _last[order - i]);
            for (int i = 0; i < forward.Length; i++)
                (forward[i], backward[i]) = (forward[i] + (reflection * backward[i]), backward[i] + (reflection * forward[i]));
        }
    }
}
