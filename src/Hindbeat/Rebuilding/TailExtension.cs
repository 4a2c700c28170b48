using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>
/// Lets a cut stroke ring on past the next stroke of the passage: its last clean spectrum goes on with
/// phases by chance, each third of an octave dying as fast as it died while it could be heard.
/// </summary>
/// <remarks>
/// What rings on a drum kit after a tenth of a second is close to noise (cymbals, snare wires, room), so
/// its level by band is what the ear follows. Both channels of a bin take the same phase: the stereo
/// picture stays.
/// </remarks>
internal sealed class TailExtension
{
    private const int Frame = 1024;
    private const int Hop = Frame / 4;

    /// <summary>Decay that is believed, dB a second: slower would never end, faster is the attack's own fall.</summary>
    private const double SlowestDecay = 25;
    private const double FastestDecay = 400;

    /// <summary>The tail ends when it has died by this much.</summary>
    private const double EndDb = 50;

    private readonly ComplexFft _transform = new(Frame);
    private readonly float[] _window = [.. Enumerable.Range(0, Frame).Select(i => (float)(0.5 - (0.5 * Math.Cos(2 * Math.PI * i / Frame))))];

    /// <summary>The stroke with a tail, at most <paramref name="longest"/> samples; the input when it is too short to foretell one.</summary>
    /// <param name="onset">Sample of the onset in the stroke.</param>
    public (float[] Left, float[] Right) Extend(float[] left, float[] right, int onset, int longest, int sampleRate, ulong seed)
    {
        int clean = left.Length;
        if (clean - onset < 2 * Frame || clean >= longest)
            return (left, right);
        float[] re = new float[Frame];
        float[] im = new float[Frame];
        double[] early = Spectrum(left, right, onset + ((clean - onset - Frame) / 2), re, im);
        double[] last = Spectrum(left, right, clean - Frame, re, im);
        double between = (clean - onset - Frame) / 2.0 / sampleRate;
        double[] decay = Decay(early, last, between);
        int frames = (int)Math.Min((longest - clean) / Hop, EndDb / decay.Min() * sampleRate / Hop) + 4;
        var longLeft = new float[clean + (frames * Hop) + Frame];
        var longRight = new float[longLeft.Length];
        // Where the frames begin to add up to a whole the clean part hands over.
        int first = clean - Frame;
        var dice = new SplitMix64(seed);
        var r = new float[Frame];
        var i = new float[Frame];
        for (int frame = 0; frame < frames; frame++)
        {
            double later = (double)frame * Hop / sampleRate;
            for (int k = 0; k <= Frame / 2; k++)
            {
                (double sin, double cos) = Math.SinCos(2 * Math.PI * dice.Uniform());
                double gain = Math.Pow(10, -decay[k] * later / 20);
                Rotate(k, (float)(gain * cos), (float)(gain * sin));
                if (k is > 0 and < Frame / 2)
                    Rotate(Frame - k, (float)(gain * cos), (float)(-gain * sin));
            }

            _transform.Transform(i, r);
            // Frames with unlike phases add in power: four squared windows in step give 1.5, hence the root.
            for (int n = 0; n < Frame; n++)
            {
                float scale = _window[n] * PowerScale;
                longLeft[first + (frame * Hop) + n] += r[n] * scale;
                longRight[first + (frame * Hop) + n] += i[n] * scale;
            }
        }

        for (int n = 0; n < clean; n++)
        {
            // Both parts are unlike, so squares of the shares add to one.
            double share = n < first ? 0 : Math.Sin(Math.PI / 2 * (n - first) / Frame);
            double keep = Math.Sqrt(1 - (share * share));
            longLeft[n] = (float)((keep * left[n]) + (share * longLeft[n]));
            longRight[n] = (float)((keep * right[n]) + (share * longRight[n]));
        }

        int length = Math.Min(longest, first + (frames * Hop));
        return (longLeft[..length], longRight[..length]);

        void Rotate(int k, float cos, float sin)
        {
            r[k] = (re[k] * cos) - (im[k] * sin);
            i[k] = (re[k] * sin) + (im[k] * cos);
        }
    }

    /// <summary>1/N of the inverse, the analysis window's power 3/8, and the overlapping windows' power 1.5.</summary>
    private static readonly float PowerScale = (float)(1 / (Frame * Math.Sqrt(0.375 * 1.5)));

    private double[] Spectrum(float[] left, float[] right, int first, float[] re, float[] im)
    {
        for (int i = 0; i < Frame; i++)
        {
            re[i] = _window[i] * left[first + i];
            im[i] = _window[i] * right[first + i];
        }

        _transform.Transform(re, im);
        var power = new double[(Frame / 2) + 1];
        for (int k = 0; k < power.Length; k++)
        {
            int mirror = (Frame - k) % Frame;
            power[k] = (re[k] * re[k]) + (im[k] * im[k]) + (re[mirror] * re[mirror]) + (im[mirror] * im[mirror]);
        }

        return power;
    }

    /// <summary>dB a second in each bin, from powers gathered over a third of an octave.</summary>
    private static double[] Decay(double[] early, double[] last, double seconds)
    {
        var decay = new double[early.Length];
        for (int k = 0; k < decay.Length; k++)
        {
            int from = (int)(k * 0.89);
            int to = Math.Min(decay.Length - 1, (int)Math.Ceiling(k * 1.12));
            double a = 1e-15;
            double b = 1e-15;
            for (int j = from; j <= to; j++)
            {
                a += early[j];
                b += last[j];
            }

            decay[k] = Math.Clamp(10 * Math.Log10(a / b) / seconds, SlowestDecay, FastestDecay);
        }

        return decay;
    }
}
