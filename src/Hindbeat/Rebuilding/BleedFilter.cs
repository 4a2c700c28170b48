using Hindbeat.Sound;

namespace Hindbeat.Rebuilding;

/// <summary>
/// Takes out of a cut stroke what others left in it: in short spectra, power that is foretold by what rang
/// before the stroke (dying away) and by strokes of other pieces that fell on the same moment is
/// subtracted; the phase stays.
/// </summary>
/// <remarks>
/// Power spectral subtraction after S. Boll, "Suppression of acoustic noise in speech using spectral
/// subtraction", IEEE Trans. ASSP 27(2), 1979; where we differ: what is subtracted changes from frame to frame.
/// Frames of 512 samples: at 44.1 kHz 12 ms, short enough that what is taken out does not ring before the stroke.
/// </remarks>
internal sealed class BleedFilter
{
    public const int Frame = 512;
    public const int Hop = Frame / 4;

    /// <summary>Never take out more than 26 dB: deeper holes are heard as chirping.</summary>
    private const double Floor = 0.0025;

    /// <summary>How fast ringing is taken to die, dB a second: toms and snares 60 to 150, cymbals slower (our choice, no source).</summary>
    private const double RingingDecay = 80;

    private readonly ComplexFft _transform = new(Frame);
    private readonly float[] _window = [.. Enumerable.Range(0, Frame).Select(i => (float)(0.5 - (0.5 * Math.Cos(2 * Math.PI * i / Frame))))];
    private readonly float[] _re = new float[Frame];
    private readonly float[] _im = new float[Frame];

    /// <summary>Power in the bins 0 to N/2, both channels together, of the frame that begins at a sample.</summary>
    public double[] Power(StereoSound sound, int first)
    {
        Analyse(sound.Left, sound.Right, first);
        var power = new double[(Frame / 2) + 1];
        for (int k = 0; k < power.Length; k++)
            power[k] = PowerOf(k);
        return power;
    }

    /// <summary>Powers of successive frames, <see cref="Hop"/> apart, the first one centred on the onset.</summary>
    public double[][] Powers(StereoSound sound, double onset, int length) =>
        [.. Enumerable.Range(0, (length / Hop) + 1).Select(frame => Power(sound, (int)Math.Round(onset) - (Frame / 2) + (frame * Hop)))];

    /// <param name="sound">The passage.</param>
    /// <param name="onset">The stroke's, in samples of the passage.</param>
    /// <param name="first">First sample to give back.</param>
    /// <param name="length">How many samples to give back.</param>
    /// <param name="company">Powers of the strokes that fell on the same moment: spectra <see cref="Hop"/> apart, and the moment (sample) of the first one's middle.</param>
    public (float[] Left, float[] Right) Clean(StereoSound sound, double onset, int first, int length, IReadOnlyList<(double[][] Powers, double At)> company)
    {
        int lead = first - Frame;
        int frames = (length + (2 * Frame)) / Hop;
        var left = new float[(frames * Hop) + Frame];
        var right = new float[left.Length];
        double[] ringing = Ringing(sound, onset);
        for (int frame = 0; frame < frames; frame++)
        {
            int start = lead + (frame * Hop);
            double middle = start + (Frame / 2);
            Analyse(sound.Left, sound.Right, start);
            double dying = Math.Pow(10, -RingingDecay * Math.Max(0, middle - onset) / sound.SampleRate / 10);
            for (int k = 0; k <= Frame / 2; k++)
            {
                double foreign = ringing[k] * dying;
                foreach ((double[][] powers, double at) in company)
                {
                    int then = (int)Math.Round((middle - at) / Hop);
                    if (then >= 0 && then < powers.Length)
                        foreign += powers[then][k];
                }

                float gain = (float)Math.Sqrt(Math.Max(Floor, 1 - (foreign / Math.Max(1e-20, PowerOf(k)))));
                _re[k] *= gain;
                _im[k] *= gain;
                if (k is > 0 and < Frame / 2)
                {
                    _re[Frame - k] *= gain;
                    _im[Frame - k] *= gain;
                }
            }

            // The inverse is the transform with both parts exchanged; windows of four overlapping frames add to 1.5.
            _transform.Transform(_im, _re);
            for (int i = 0; i < Frame; i++)
            {
                float scale = _window[i] / (1.5f * Frame);
                left[(frame * Hop) + i] += _re[i] * scale;
                right[(frame * Hop) + i] += _im[i] * scale;
            }
        }

        return (left[Frame..(Frame + length)], right[Frame..(Frame + length)]);
    }

    /// <summary>Mean of two frames that end before the stroke begins.</summary>
    private double[] Ringing(StereoSound sound, double onset)
    {
        int end = (int)onset - (int)(0.003 * sound.SampleRate);
        double[] a = Power(sound, end - Frame);
        double[] b = Power(sound, end - Frame - (2 * Hop));
        return [.. a.Zip(b, (x, y) => (x + y) / 2)];
    }

    private double PowerOf(int k)
    {
        int mirror = (Frame - k) % Frame;
        return (((double)_re[k] * _re[k]) + ((double)_im[k] * _im[k]) + ((double)_re[mirror] * _re[mirror]) + ((double)_im[mirror] * _im[mirror])) / 2;
    }

    private void Analyse(float[] left, float[] right, int first)
    {
        for (int i = 0; i < Frame; i++)
        {
            bool inside = first + i >= 0 && first + i < left.Length;
            _re[i] = inside ? _window[i] * left[first + i] : 0;
            _im[i] = inside ? _window[i] * right[first + i] : 0;
        }

        _transform.Transform(_re, _im);
    }
}
