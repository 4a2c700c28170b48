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
    /// <param name="NewFrom">Where the first sample comes to lie.</param>
    /// <param name="NewTo">Where the end comes to lie.</param>
    public readonly record struct Segment(int From, int Head, int To, int NewFrom, int NewTo);

    /// <summary>Adds the stretched piece to the output, blended over the next piece's first samples.</summary>
    public void Stretch(StereoSound sound, Segment segment, int blend, float[] left, float[] right)
    {
        int length = segment.NewTo - segment.NewFrom;
        if (length <= 0)
            return;
        int head = Math.Min(segment.Head, length);
        if (length + _frame > _left.Length)
            (_left, _right) = (new float[length + _frame], new float[length + _frame]);
        Array.Clear(_left, 0, length + _frame);
        Array.Clear(_right, 0, length + _frame);
        Vocode(sound, segment, head, length);

        // Before the copied head the piece fades in over the end of the one before, which fades out there.
        int start = segment.NewFrom;
        for (int i = 0; i < length && start + i < left.Length; i++)
        {
            float fadeIn = start > 0 && i < blend ? (i + 0.5f) / blend : 1;
            float copied = i < head - blend ? 1 : i < head ? (head - i) / (float)blend : 0;
            int source = segment.From + i;
            float l = copied > 0 && source < sound.Left.Length ? (copied * sound.Left[source]) + ((1 - copied) * _left[i]) : _left[i];
            float r = copied > 0 && source < sound.Left.Length ? (copied * sound.Right[source]) + ((1 - copied) * _right[i]) : _right[i];
            left[start + i] += fadeIn * l;
            right[start + i] += fadeIn * r;
        }

        for (int i = 0; i < blend && segment.NewTo + i < left.Length; i++)
        {
            float fadeOut = 1 - ((i + 0.5f) / blend);
            left[segment.NewTo + i] += fadeOut * _left[length + i];
            right[segment.NewTo + i] += fadeOut * _right[length + i];
        }
    }

    private void Vocode(StereoSound sound, Segment segment, int head, int length)
    {
        int half = _frame / 2;
        // Past this middle a frame would hold the next attack; there the ringing stands still.
        double furthest = Math.Max(segment.From + Math.Min(head, half), segment.To - half);
        double slope = length > head ? (double)Math.Max(0, segment.To - segment.From - head) / (length - head) : 1;
        bool isFirst = true;
        for (int middle = -half; middle < length + half; middle += _hop)
        {
            double place = middle <= head ? middle : head + ((middle - head) * slope);
            double source = Math.Min(segment.From + place, furthest);
            int first = (int)Math.Round(source) - half;
            Analyse(sound, first, _re, _im);
            if (isFirst)
            {
                _turnRe.AsSpan().Fill(1);
                _turnIm.AsSpan().Clear();
                isFirst = false;
            }
            else
            {
                Analyse(sound, first - _hop, _earlierRe, _earlierIm);
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

    private void Analyse(StereoSound sound, int first, float[] re, float[] im)
    {
        if (first >= 0 && first + _frame <= sound.Left.Length)
        {
            System.Numerics.Tensors.TensorPrimitives.Multiply(_window, sound.Left.AsSpan(first, _frame), re);
            System.Numerics.Tensors.TensorPrimitives.Multiply(_window, sound.Right.AsSpan(first, _frame), im);
        }
        else
        {
            for (int i = 0; i < _frame; i++)
            {
                bool inside = first + i >= 0 && first + i < sound.Left.Length;
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
