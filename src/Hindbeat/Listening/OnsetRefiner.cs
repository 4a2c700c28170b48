using Hindbeat.Sound;

namespace Hindbeat.Listening;

/// <summary>
/// The exact time of a stroke: on the waveform, in the band where its piece speaks, the first moment its energy
/// leaves what was sounding.
/// </summary>
/// <remarks>
/// Two steps. First the smoothed energy's first crossing of a threshold over what was sounding; then, in a few
/// milliseconds around it, the split that best parts the samples into two stretches of different variance:
/// k ln s²(1..k) + (n−k) ln s²(k+1..n) is least (the AIC picker of seismology; N. Maeda, Zisin 38, 1985, from memory).
/// Neither step depends on gain or on where the frames of the coarse analysis fall. What bias is left, measured on
/// recorded strokes with known onsets, is taken off (<see cref="Bias"/>).
/// One instance a thread; allocates nothing after it is made.
/// </remarks>
internal sealed class OnsetRefiner
{
    private const int Rate = MonoSound.AnalysisRate;

    /// <summary>The coarse frame lies at most this long after the onset (slow attacks peak late) ...</summary>
    private const int Early = (int)(0.018 * Rate);

    /// <summary>... or this long before it.</summary>
    private const int Late = (int)(0.008 * Rate);

    /// <summary>What was sounding is heard over this long before the search begins.</summary>
    private const int Before = (int)(0.008 * Rate);

    /// <summary>The filters come to rest in this time.</summary>
    private const int WarmUp = (int)(0.025 * Rate);

    /// <summary>The stroke's own energy peaks within this time of the end of the search.</summary>
    private const int After = (int)(0.012 * Rate);

    /// <summary>Energy is smoothed over this long for the first crossing.</summary>
    private const int Smooth = (int)(0.001 * Rate);

    private const double OverBefore = 3;
    private const double OfPeak = 0.02;

    /// <summary>
    /// Energy below this share of the stroke's peak counts as what was sounding, per family: a hat struck a few
    /// milliseconds before a snare is heard in the snare's band too, some 15 dB down, and must not pass for its onset.
    /// </summary>
    private static readonly double[] Ignored = [0.003, 0.01, 0.0003, 0.003];

    private const int PickBack = (int)(0.010 * Rate);
    private const int PickOn = (int)(0.002 * Rate);

    private static readonly BandPass KickBeater = new(40, 1500);
    private const int BeaterBack = (int)(0.006 * Rate);
    private const int BeaterOn = (int)(0.0015 * Rate);

    /// <summary>
    /// Low for the kick and high for metal, where other pieces hardly reach: a kick behind a snare and a hat behind a
    /// kick are then still timed by themselves. (40–1500 Hz and 6 kHz up had 0.1 ms less scatter on lone kicks but twice
    /// as many kicks off by more than 10 ms.)
    /// </summary>
    private readonly BandPass[] _bands;

    private readonly float[] _samples = new float[WarmUp + Before + Early + Late + After];
    private readonly double[] _energy;

    /// <param name="metalHertz">From where up strokes on metal are timed; see <see cref="MetalBand"/>.</param>
    public OnsetRefiner(double metalHertz)
    {
        _energy = new double[_samples.Length + 1];
        _bands = [new(30, 300), new(150, 2500), new(metalHertz, 20000), new(60, 1500)];
    }

    /// <summary>10 kHz, or lower where the recording holds next to nothing up there.</summary>
    public static double MetalBand(BandPowers powers)
    {
        const double Enough = 1e-6;
        double[] corners = [10000, 6000, 2500];
        return corners.FirstOrDefault(hertz => powers.ShareAbove(hertz) >= Enough, corners[^1]);
    }

    /// <summary>
    /// Seconds by which the raw pick lies after the true onset, per family: medians over all strokes of the studio
    /// and overhead views of L. Muldjord's kit; see docs/decisions/listening-times.md.
    /// </summary>
    public static double Bias(StrokeFamily family) => BiasSeconds[(int)family];

    private static readonly double[] BiasSeconds = [0.00025, 0.00018, 0.0, 0.00015];

    /// <param name="sample">Where the coarse analysis heard it, a sample of the recording.</param>
    /// <returns>The onset as a sample of the recording, bias removed.</returns>
    public double Refine(MonoSound sound, long sample, StrokeFamily family)
    {
        long start = sample - Early - Before - WarmUp;
        sound.Read(start, _samples);
        _bands[(int)family].Run(_samples);
        Accumulate();
        int pick = PickIn(family);
        if (family == StrokeFamily.Kick)
        {
            // Its low end says which stroke is the kick, its beater when it starts: in a room the low end comes up late.
            sound.Read(start, _samples);
            KickBeater.Run(_samples);
            Accumulate();
            pick = Pick(Math.Max(WarmUp, pick - BeaterBack), Math.Min(_samples.Length, pick + BeaterOn), Peak() * Ignored[0]);
        }

        return start + pick - (Bias(family) * Rate);
    }

    private int PickIn(StrokeFamily family)
    {
        double peak = Peak();
        int crossing = FirstCrossing(peak, Math.Max(OfPeak, 2 * Ignored[(int)family]));
        return Pick(Math.Max(WarmUp, crossing - PickBack), Math.Min(_samples.Length, crossing + PickOn), peak * Ignored[(int)family]);
    }

    private void Accumulate()
    {
        _energy[0] = 0;
        for (int i = 0; i < _samples.Length; i++)
            _energy[i + 1] = _energy[i] + ((double)_samples[i] * _samples[i]);
    }

    private double Peak()
    {
        double peak = 0;
        for (int i = WarmUp + Before; i + Smooth <= _samples.Length; i++)
            peak = Math.Max(peak, Mean(i, i + Smooth));
        return peak;
    }

    private int FirstCrossing(double peak, double ofPeak)
    {
        int search = WarmUp + Before;
        double before = Mean(WarmUp, search);
        double threshold = Math.Max(before * OverBefore, peak * ofPeak);
        if (threshold > peak / 2)
            threshold = Math.Max(before, peak * ofPeak) + (0.4 * Math.Max(0, peak - before));
        for (int i = search; i + Smooth <= _samples.Length; i++)
        {
            if (Mean(i, i + Smooth) >= threshold)
                return i + Smooth;
        }

        return search + Early;
    }

    private double Mean(int from, int to) => (_energy[to] - _energy[from]) / (to - from);

    private int Pick(int from, int to, double floor)
    {
        const int Least = 8;
        floor += 1e-20;
        int best = from + Least;
        double bestCost = double.MaxValue;
        for (int k = from + Least; k <= to - Least; k++)
        {
            double cost = ((k - from) * Math.Log(Mean(from, k) + floor)) + ((to - k) * Math.Log(Mean(k, to) + floor));
            if (cost < bestCost)
            {
                bestCost = cost;
                best = k;
            }
        }

        return best;
    }
}
