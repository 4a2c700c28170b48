using Hindbeat.Sound;

namespace Hindbeat.Listening;

/// <summary>
/// The exact time of a stroke that the network heard: on the waveform, in three bands where its piece speaks, near where
/// the network has it.
/// </summary>
/// <remarks>
/// The split k of the samples around it into two stretches of different variance that is likeliest:
/// −½ Σ over bands of w (m ln s²(before k) + n ln s²(after k)), m + n samples (the AIC picker of seismology; N. Maeda,
/// Zisin 38, 1985, from memory), less ½ ((k − network) / σ)², what is known of the network's errors. Where the waveform
/// shows a clear onset the bands decide; where it shows none the network's time stays. A band in which another
/// piece, struck at almost the same time, speaks loudly counts for little: a kick under a hat is timed by its low end.
/// docs/decisions/listening-learned.md holds the measurements.
/// One instance a thread; allocates nothing after it is made.
/// </remarks>
internal sealed class StrokeTimer
{
    private const int Rate = MonoSound.AnalysisRate;

    /// <summary>The filters come to rest in this time.</summary>
    private const int WarmUp = (int)(0.025 * Rate);

    /// <summary>The onset is looked for this far to either side of the network's time.</summary>
    private const int Reach = (int)(0.006 * Rate);

    /// <summary>What was sounding is heard this long before the search begins; the stroke this long after it ends.</summary>
    private const int Before = (int)(0.006 * Rate);
    private const int After = (int)(0.004 * Rate);

    private const int Network = WarmUp + Before + Reach;
    private const int End = Network + Reach + After;

    /// <summary>Samples that the network's times scatter by: 1.5 ms; half its strokes on kits it never heard lie within 0.5 to 1.3 ms.</summary>
    private const double Scatter = 0.0015 * Rate;

    /// <summary>Energy under this share of the stroke's peak (−30 dB) counts as what was sounding; −40 dB, where the truth of recorded strokes lies, timed loud and soft strokes differently.</summary>
    private const double Ignored = 1e-3;

    /// <summary>Strokes of two families this near disturb each other's bands.</summary>
    private const double Near = 0.010 * Rate;

    /// <summary>What a disturbed band still counts.</summary>
    private const double Disturbed = 0.1;

    /// <summary>Samples between the places tried first; then all around the best.</summary>
    private const int Coarse = 4;

    /// <summary>
    /// Per family (kick, snare, hat, cymbal, tom) three bands in hertz and what a sample's log likelihood in each counts.
    /// Far under 1, because neighbours in a narrow band say nearly the same; a third of these weights and ten times them
    /// were worse on four training kits.
    /// </summary>
    private static readonly (double Low, double High, double Weight)[][] Bands =
    [
        [(30, 300, 0.003), (300, 1500, 0.01), (1500, 8000, 0.01)],
        [(150, 800, 0.003), (800, 2500, 0.01), (2500, 8000, 0.01)],
        [(10000, 20000, 0.3), (5000, 10000, 0.01), (2500, 5000, 0.003)],
        [(10000, 20000, 0.3), (5000, 10000, 0.01), (2500, 5000, 0.003)],
        [(60, 400, 0.003), (400, 1500, 0.01), (1500, 8000, 0.01)],
    ];

    /// <summary>Which bands (bit 0 = first) of a family (row) another (column) disturbs.</summary>
    private static readonly int[][] DisturbedBy =
    [
        [0, 0b110, 0b100, 0b100, 0b110],
        [0b001, 0, 0b100, 0b100, 0b001],
        [0b110, 0b111, 0, 0, 0b010],
        [0b110, 0b111, 0, 0, 0b010],
        [0b001, 0b110, 0b100, 0b100, 0],
    ];

    private readonly BandPass[][] _filters;
    private readonly float[] _samples = new float[End];
    private readonly float[] _filtered = new float[End];
    private readonly double[][] _energy = [new double[End + 1], new double[End + 1], new double[End + 1]];
    private readonly double[] _floor = new double[3];
    private readonly double[] _weight = new double[3];

    /// <param name="metalHertz">From where up strokes on metal are timed; lower than 10 kHz where the recording has nothing there.</param>
    public StrokeTimer(double metalHertz)
    {
        _filters = [.. Bands.Select(bands => bands.Select(band => new BandPass(band.Low == 10000 ? metalHertz : band.Low, band.High)).ToArray())];
    }

    /// <param name="strokes">All that the network heard, in order of time.</param>
    /// <param name="index">The one to time.</param>
    /// <returns>Its onset, a sample of the recording.</returns>
    public double Refine(MonoSound sound, IReadOnlyList<CurveStroke> strokes, int index)
    {
        CurveStroke stroke = strokes[index];
        int family = (int)stroke.Family;
        int disturbed = 0;
        for (int i = index - 1; i >= 0 && stroke.Sample - strokes[i].Sample < Near; i--)
            disturbed |= DisturbedBy[family][(int)strokes[i].Family];
        for (int i = index + 1; i < strokes.Count && strokes[i].Sample - stroke.Sample < Near; i++)
            disturbed |= DisturbedBy[family][(int)strokes[i].Family];

        long start = (long)Math.Round(stroke.Sample) - Network;
        sound.Read(start, _samples);
        for (int band = 0; band < 3; band++)
        {
            _weight[band] = Bands[family][band].Weight * ((disturbed >> band & 1) != 0 ? Disturbed : 1);
            _samples.CopyTo(_filtered, 0);
            _filters[family][band].Run(_filtered);
            double[] energy = _energy[band];
            for (int i = 0; i < _filtered.Length; i++)
                energy[i + 1] = energy[i] + ((double)_filtered[i] * _filtered[i]);
            _floor[band] = (Peak(energy) * Ignored) + 1e-20;
        }

        int best = Best(Network - Reach, Network + Reach, Coarse);
        return start + Best(Math.Max(Network - Reach, best - Coarse), Math.Min(Network + Reach, best + Coarse), 1);
    }

    private int Best(int from, int to, int step)
    {
        int best = Network;
        double bestScore = double.MinValue;
        for (int k = from; k <= to; k += step)
        {
            double off = (k - Network) / Scatter;
            double score = -off * off;
            for (int band = 0; band < 3; band++)
            {
                double[] energy = _energy[band];
                score -= _weight[band] * (((k - WarmUp) * Math.Log(Mean(energy, WarmUp, k) + _floor[band]))
                    + ((End - k) * Math.Log(Mean(energy, k, End) + _floor[band])));
            }

            if (score > bestScore)
                (bestScore, best) = (score, k);
        }

        return best;
    }

    private static double Peak(double[] energy)
    {
        const int Smooth = (int)(0.001 * Rate);
        double peak = 0;
        for (int i = Network - Reach; i + Smooth <= End; i++)
            peak = Math.Max(peak, Mean(energy, i, i + Smooth));
        return peak;
    }

    private static double Mean(double[] energy, int from, int to) => (energy[to] - energy[from]) / (to - from);
}
