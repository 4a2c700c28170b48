using System.Numerics.Tensors;

namespace Hindbeat.Sound;

/// <summary>
/// Changes the rate of one channel piece by piece, without delay: what lies at t seconds going in lies at
/// t seconds coming out. Output sample k is input position k·from/to, kept as an exact fraction, so an
/// hour drifts by nothing.
/// </summary>
/// <remarks>
/// Windowed-sinc interpolation with one filter per phase: J. O. Smith and P. Gossett, "A flexible
/// sampling-rate conversion method", ICASSP 1984. Where we differ: every phase has its own exact filter
/// instead of an interpolated one, each scaled to a gain of exactly 1 at 0 Hz. Kaiser window by J. F. Kaiser,
/// "Nonrecursive digital filter design using the I0-sinh window function", ISCAS 1974.
/// </remarks>
internal sealed class StreamingResampler
{
    /// <summary>
    /// Zero crossings each side, counted at the lower rate. 40 with the cut-off below pass 18.5 kHz and stop
    /// 22 kHz at 44.1 kHz; more would ring longer before an attack for treble that dates no stroke.
    /// </summary>
    private const int Crossings = 40;

    /// <summary>Middle of the slope in cycles per sample of the lower rate; the slope is 0.08 wide and ends at 0.5.</summary>
    private const double Cutoff = 0.46;

    /// <summary>Kaiser's β for 100 dB: 0.1102·(100 − 8.7).</summary>
    private const double Beta = 10.06;

    private const int BlockSize = 8192;

    private readonly int _up;
    private readonly int _down;
    private readonly int _half;
    private readonly int _taps;
    private readonly float[] _filters;
    private readonly float[] _window;
    private readonly float[] _output = new float[BlockSize];
    private int _filled;
    private int _at;
    private int _phase;
    private long _inputs;
    private long _outputs;

    /// <param name="fromRate">Hertz, positive.</param>
    /// <param name="toRate">Hertz, positive.</param>
    public StreamingResampler(int fromRate, int toRate)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(fromRate);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(toRate);
        int divisor = (int)System.Numerics.BigInteger.GreatestCommonDivisor(fromRate, toRate);
        _up = toRate / divisor;
        _down = fromRate / divisor;
        double ratio = Math.Min(1.0, (double)toRate / fromRate);
        _half = (int)Math.Ceiling(Crossings / ratio);
        _taps = 2 * _half;
        _filters = MakeFilters(_up, _half, Crossings / ratio, Cutoff * ratio);
        _window = new float[_taps + BlockSize];
        // Silence before the first sample, so that its own filter has something to stand on.
        _filled = _half - 1;
    }

    /// <summary>Takes the next samples and hands on every output sample that they complete.</summary>
    /// <param name="receive">Called with pieces in order; it must not keep the span.</param>
    public void Push(ReadOnlySpan<float> input, Action<ReadOnlySpan<float>> receive)
    {
        _inputs += input.Length;
        Feed(input, receive, long.MaxValue);
    }

    /// <summary>Hands on the rest. In all ⌈n·to/from⌉ samples come out of n.</summary>
    public void Finish(Action<ReadOnlySpan<float>> receive)
    {
        long total = ((_inputs * _up) + _down - 1) / _down;
        // The last output lies before the end of the input, so half a filter of silence completes it.
        Feed(new float[_half], receive, total);
    }

    private void Feed(ReadOnlySpan<float> input, Action<ReadOnlySpan<float>> receive, long total)
    {
        while (true)
        {
            int taken = Math.Min(input.Length, _window.Length - _filled);
            input[..taken].CopyTo(_window.AsSpan(_filled));
            _filled += taken;
            input = input[taken..];
            Produce(receive, total);
            if (input.IsEmpty || _outputs >= total)
                return;
        }
    }

    private void Produce(Action<ReadOnlySpan<float>> receive, long total)
    {
        int made = 0;
        while (_at + _taps <= _filled && _outputs < total)
        {
            _output[made++] = TensorPrimitives.Dot(
                _window.AsSpan(_at, _taps), (ReadOnlySpan<float>)_filters.AsSpan(_phase * _taps, _taps));
            _outputs++;
            _phase += _down;
            _at += _phase / _up;
            _phase %= _up;
            if (made == _output.Length)
            {
                receive(_output);
                made = 0;
            }
        }

        if (made > 0)
            receive(_output.AsSpan(0, made));
        int kept = Math.Max(0, _filled - _at);
        int dropped = _filled - kept;
        _window.AsSpan(dropped, kept).CopyTo(_window);
        _filled = kept;
        _at -= dropped;
    }

    /// <summary>For each phase p the taps h(p/up + half − 1 − t), t = 0 … 2·half − 1.</summary>
    private static float[] MakeFilters(int phases, int half, double reach, double cutoff)
    {
        int taps = 2 * half;
        float[] filters = new float[phases * taps];
        double[] one = new double[taps];
        double atZero = BesselI0(Beta);
        for (int phase = 0; phase < phases; phase++)
        {
            double sum = 0;
            for (int t = 0; t < taps; t++)
            {
                double x = ((double)phase / phases) + half - 1 - t;
                double edge = x / reach;
                double window = Math.Abs(edge) >= 1 ? 0 : BesselI0(Beta * Math.Sqrt(1 - (edge * edge))) / atZero;
                double angle = 2 * Math.PI * cutoff * x;
                one[t] = window * (Math.Abs(angle) < 1e-9 ? 1 : Math.Sin(angle) / angle);
                sum += one[t];
            }

            for (int t = 0; t < taps; t++)
                filters[(phase * taps) + t] = (float)(one[t] / sum);
        }

        return filters;
    }

    /// <summary>Modified Bessel function of the first kind, order 0, by its power series (converges fast below 15).</summary>
    private static double BesselI0(double x)
    {
        double term = 1;
        double sum = 1;
        for (int k = 1; term > 1e-17 * sum; k++)
        {
            term *= x / (2 * k) * (x / (2 * k));
            sum += term;
        }

        return sum;
    }
}
