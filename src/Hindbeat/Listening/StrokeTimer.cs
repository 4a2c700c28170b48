using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Listening;

/// <summary>
/// The exact time and the level of a stroke that the network heard: on the waveform, in the band where its piece speaks,
/// near where the network has it.
/// </summary>
/// <remarks>
/// The split k of the samples around it into two stretches of different variance that is likeliest:
/// −½ (m ln s²(before k) + n ln s²(after k)), m + n samples, less ½ ((k − network) / σ)², what is known of the network's own
/// errors. Where the waveform shows a clear onset the first term decides; where it shows none the network's time stays.
/// One instance a thread; allocates nothing after it is made.
/// </remarks>
internal sealed class StrokeTimer
{
    private const int Rate = MonoSound.AnalysisRate;
    private const int WarmUp = (int)(0.025 * Rate);

    /// <summary>The onset is looked for this far to either side of the network's time.</summary>
    private const int Reach = (int)(0.006 * Rate);

    /// <summary>What was sounding is heard this long before the search begins; the stroke this long after it ends.</summary>
    private const int Before = (int)(0.006 * Rate);
    private const int After = (int)(0.004 * Rate);

    /// <summary>Levels are measured over this long from the onset.</summary>
    private const int Body = (int)(0.030 * Rate);

    /// <summary>Energy under this share of the stroke's peak counts as what was sounding; order of the families.</summary>
    private static readonly double[] Ignored = [0.003, 0.01, 0.0003, 0.0003, 0.003];

    /// <summary>Samples that the network's times scatter by (1.5 ms).</summary>
    private const double Scatter = 0.0015 * Rate;

    private readonly BandPass[] _bands;

    /// <summary>Of a sample's log likelihood how much is new: neighbours in a narrow band say nearly the same.</summary>
    private readonly double[] _fresh;

    private readonly float[] _samples = new float[WarmUp + Before + (2 * Reach) + Math.Max(After, Body)];
    private readonly double[] _energy;

    public StrokeTimer(double metalHertz)
    {
        _energy = new double[_samples.Length + 1];
        _bands = [new(30, 1500), new(150, 2500), new(metalHertz, 20000), new(metalHertz, 20000), new(60, 1500)];
        _fresh = [0.07, 0.1, 0.5, 0.5, 0.07];
    }

    public (double Sample, Level Level) Measure(MonoSound sound, CurveStroke stroke, bool refine)
    {
        int family = (int)stroke.Family;
        long centre = (long)Math.Round(stroke.Sample);
        long start = centre - Reach - Before - WarmUp;
        sound.Read(start, _samples);
        _bands[family].Run(_samples);
        _energy[0] = 0;
        for (int i = 0; i < _samples.Length; i++)
            _energy[i + 1] = _energy[i] + ((double)_samples[i] * _samples[i]);

        int at = WarmUp + Before + Reach;
        int pick = refine ? Pick(family, at) : at;
        double before = Mean(WarmUp, WarmUp + Before);
        double level = Math.Max(Mean(pick, pick + Body) - before, 1e-12);
        return (refine ? start + pick : stroke.Sample, Level.FromAmplitude(Math.Sqrt(level)));
    }

    private int Pick(int family, int network)
    {
        int from = WarmUp;
        int to = network + Reach + After;
        double floor = (Peak(network - Reach, to) * Ignored[family]) + 1e-20;
        int best = network;
        double bestScore = double.MinValue;
        for (int k = network - Reach; k <= network + Reach; k++)
        {
            double fit = ((k - from) * Math.Log(Mean(from, k) + floor)) + ((to - k) * Math.Log(Mean(k, to) + floor));
            double off = (k - network) / Scatter;
            double score = -0.5 * ((_fresh[family] * fit) + (off * off));
            if (score > bestScore)
                (bestScore, best) = (score, k);
        }

        return best;
    }

    private double Peak(int from, int to)
    {
        const int Smooth = (int)(0.001 * Rate);
        double peak = 0;
        for (int i = from; i + Smooth <= to; i++)
            peak = Math.Max(peak, Mean(i, i + Smooth));
        return peak;
    }

    private double Mean(int from, int to) => (_energy[to] - _energy[from]) / (to - from);
}
