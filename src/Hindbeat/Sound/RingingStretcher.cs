namespace Hindbeat.Sound;

/// <summary>The phase vocoder of <see cref="AttackTrueStretch"/> for one frame length; holds its work space.</summary>
internal sealed class RingingStretcher
{
    /// <summary>Quarter of a frame: Hann windows twice applied then add up to 1.5 everywhere.</summary>
    private const int Overlap = 4;

    private const float WindowSum = 1.5f;

    private readonly int _frame;
    private readonly int _hop;
    private readonly ComplexFft _transform;
    private readonly float[] _window;
    private readonly float[] _re;
    private readonly float[] _im;
    private readonly float[] _earlierRe;
    private readonly float[] _earlierIm;
    private readonly float[] _turnRe;
    private readonly float[] _turnIm;
    private readonly float[] _lastRe;
    private readonly float[] _lastIm;
    private readonly float[] _power;
    private float[] _left = [];
    private float[] _right = [];

    public RingingStretcher(int frame)
    {
        _frame = frame;
        _hop = frame / Overlap;
        _transform = new ComplexFft(frame);
        _window = [.. Enumerable.Range(0, frame).Select(i => (float)(0.5 - (0.5 * Math.Cos(2 * Math.PI * i / frame))))];
        (_re, _im, _earlierRe, _earlierIm) = (new float[frame], new float[frame], new float[frame], new float[frame]);
        int bins = (frame / 2) + 1;
        (_turnRe, _turnIm, _lastRe, _lastIm, _power) = (new float[bins], new float[bins], new float[bins], new float[bins], new float[bins]);
    }

    /// <summary>A piece of sound from one attack to the next, in samples.</summary>
    /// <param name="From">First sample: a little before the attack.</param>
    /// <param name="Head">Samples from there on that are copied.</param>
    /// <param name="To">End: as little before the next attack.</param>
    /// <param name="Length">Samples it comes to last.</param>
    /// <param name="BlendIn">Samples from its start over which the piece before gives way.</param>
    /// <param name="BlendHead">The last samples of the copied head, over which the stretched sound takes over.</param>
    /// <param name="BlendOut">Samples after its end over which this piece gives way.</param>
    public readonly record struct Segment(int From, int Head, int To, int Length, int BlendIn, int BlendHead, int BlendOut);

    /// <summary>The last piece: its length, then what fades out over the next one.</summary>
    public Span<float> Left => _left;

    public Span<float> Right => _right;

    /// <summary>Makes a piece, faded in and out for the neighbours, in <see cref="Left"/> and <see cref="Right"/>.</summary>
    public void Stretch(StereoSound sound, Segment segment)
    {
        int length = segment.Length;
        int head = Math.Min(segment.Head, length);
        if (length + _frame > _left.Length)
            (_left, _right) = (new float[length + _frame], new float[length + _frame]);
        Array.Clear(_left, 0, length + _frame);
        Array.Clear(_right, 0, length + _frame);
        Vocode(sound, segment, head, length);
        int copied = Math.Clamp(segment.To - segment.From, 0, head);
        int alone = Math.Max(0, copied - segment.BlendHead);
        sound.Left.AsSpan(segment.From, alone).CopyTo(_left);
        sound.Right.AsSpan(segment.From, alone).CopyTo(_right);
        for (int i = alone; i < copied; i++)
        {
            float share = (copied - i - 0.5f) / (copied - alone);
            _left[i] += share * (sound.Left[segment.From + i] - _left[i]);
            _right[i] += share * (sound.Right[segment.From + i] - _right[i]);
        }

        for (int i = 0; i < segment.BlendIn; i++)
        {
            float fadeIn = (i + 0.5f) / segment.BlendIn;
            _left[i] *= fadeIn;
            _right[i] *= fadeIn;
        }

        for (int i = 0; i < segment.BlendOut; i++)
        {
            float fadeOut = 1 - ((i + 0.5f) / segment.BlendOut);
            _left[length + i] *= fadeOut;
            _right[length + i] *= fadeOut;
        }
    }

    private void Vocode(StereoSound sound, Segment segment, int head, int length)
    {
        int half = _frame / 2;
        // Past this middle a frame would hold the next attack; there the ringing stands still.
        double furthest = Math.Max(segment.From, segment.To - half);
        double slope = length > head ? (double)Math.Max(0, segment.To - segment.From - head) / (length - head) : 1;
        bool isFirst = true;
        for (int middle = -half; middle < length + half; middle += _hop)
        {
            double place = middle <= head ? middle : head + ((middle - head) * slope);
            double source = Math.Min(segment.From + place, furthest);
            int first = (int)Math.Round(source) - half;
            Analyse(sound, first, segment.To, _re, _im);
            if (isFirst)
            {
                _turnRe.AsSpan().Fill(1);
                _turnIm.AsSpan().Clear();
                isFirst = false;
            }
            else
            {
                Analyse(sound, first - _hop, segment.To, _earlierRe, _earlierIm);
                Turn();
            }

            Apply();
            _transform.Transform(_im, _re);
            int to = middle - half;
            float scale = 1 / (WindowSum * _frame);
            for (int i = Math.Max(0, -to); i < _frame && to + i < length + _frame; i++)
            {
                _left[to + i] += scale * _window[i] * _re[i];
                _right[to + i] += scale * _window[i] * _im[i];
            }
        }
    }

    /// <param name="limit">Samples from here on count as silence: the next attack lies there (a gap may be shorter than half a frame).</param>
    private void Analyse(StereoSound sound, int first, int limit, float[] re, float[] im)
    {
        if (first >= 0 && first + _frame <= limit)
        {
            System.Numerics.Tensors.TensorPrimitives.Multiply(_window, sound.Left.AsSpan(first, _frame), re);
            System.Numerics.Tensors.TensorPrimitives.Multiply(_window, sound.Right.AsSpan(first, _frame), im);
        }
        else
        {
            for (int i = 0; i < _frame; i++)
            {
                bool inside = first + i >= 0 && first + i < limit;
                re[i] = inside ? _window[i] * sound.Left[first + i] : 0;
                im[i] = inside ? _window[i] * sound.Right[first + i] : 0;
            }
        }

        _transform.Transform(re, im);
    }

    /// <summary>
    /// The turn that carries each peak's phase on from the last frame: last·conj(earlier), where earlier is the
    /// sound one hop before this frame. The bins around a peak turn with it (identity locking).
    /// </summary>
    private void Turn()
    {
        int bins = _power.Length;
        for (int k = 0; k < bins; k++)
        {
            (float re, float im) = Middle(_re, _im, k);
            _power[k] = (re * re) + (im * im);
        }

        int from = 0;
        int peak = -1;
        for (int k = 1; k < bins; k++)
        {
            bool isPeak = k == bins - 1
                ? peak < 0
                : _power[k] >= _power[k - 1] && _power[k] > _power[k + 1] && (k < 2 || _power[k] >= _power[k - 2]) && (k + 2 >= bins || _power[k] > _power[k + 2]);
            if (!isPeak)
                continue;
            if (peak >= 0)
            {
                // Borders lie at the lowest bin between two peaks.
                int border = peak;
                for (int j = peak; j < k; j++)
                {
                    if (_power[j] < _power[border])
                        border = j;
                }

                TurnBins(from, border, peak);
                from = border;
            }

            peak = k;
        }

        TurnBins(from, bins, peak);
    }

    private void TurnBins(int from, int to, int peak)
    {
        (float re, float im) = Middle(_earlierRe, _earlierIm, peak);
        float turnRe = (_lastRe[peak] * re) + (_lastIm[peak] * im);
        float turnIm = (_lastIm[peak] * re) - (_lastRe[peak] * im);
        float size = MathF.Sqrt((turnRe * turnRe) + (turnIm * turnIm));
        (turnRe, turnIm) = size > 1e-20f ? (turnRe / size, turnIm / size) : (1, 0);
        _turnRe.AsSpan(from, to - from).Fill(turnRe);
        _turnIm.AsSpan(from, to - from).Fill(turnIm);
    }

    /// <summary>Turns both channels alike and remembers the turned sum of them.</summary>
    private void Apply()
    {
        int half = _frame / 2;
        for (int k = 0; k <= half; k++)
        {
            (float c, float s) = (_turnRe[k], _turnIm[k]);
            (float middleRe, float middleIm) = Middle(_re, _im, k);
            _lastRe[k] = (middleRe * c) - (middleIm * s);
            _lastIm[k] = (middleRe * s) + (middleIm * c);
            // Bins 0 and N/2 are real in either channel; a turn would mix the channels.
            if (k == 0 || k == half)
                continue;
            (_re[k], _im[k]) = ((_re[k] * c) - (_im[k] * s), (_re[k] * s) + (_im[k] * c));
            int mirror = _frame - k;
            (_re[mirror], _im[mirror]) = ((_re[mirror] * c) + (_im[mirror] * s), (_im[mirror] * c) - (_re[mirror] * s));
        }
    }

    /// <summary>Spectrum of left + right, out of the packed left + i·right.</summary>
    private (float Re, float Im) Middle(float[] re, float[] im, int k)
    {
        int mirror = (_frame - k) & (_frame - 1);
        // L = (Z[k] + conj Z[−k])/2, R = (Z[k] − conj Z[−k])/2i.
        float leftRe = re[k] + re[mirror];
        float leftIm = im[k] - im[mirror];
        float rightRe = im[k] + im[mirror];
        float rightIm = re[mirror] - re[k];
        return (0.5f * (leftRe + rightRe), 0.5f * (leftIm + rightIm));
    }
}
