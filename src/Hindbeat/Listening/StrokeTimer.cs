using System.Numerics.Tensors;
using System.Runtime.Intrinsics;

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
    private const int Rate = StrokeView.Rate;

    /// <summary>The onset is looked for this far to either side of the network's time.</summary>
    private const int Reach = (int)(0.006 * Rate);

    /// <summary>What was sounding is heard this long before the search begins; the stroke this long after it ends.</summary>
    private const int Before = (int)(0.006 * Rate);
    private const int After = (int)(0.004 * Rate);

    private const int From = StrokeView.Half - Reach - Before;
    private const int End = StrokeView.Half + Reach + After;

    /// <summary>Samples that the network's times scatter by: 1.5 ms; half its strokes on kits it never heard lie within 0.5 to 1.3 ms.</summary>
    private const double Scatter = 0.0015 * Rate;

    /// <summary>Energy under this share of the stroke's peak (−30 dB) counts as what was sounding; −40 dB, where the truth of recorded strokes lies, timed loud and soft strokes differently.</summary>
    private const double Ignored = 1e-3;

    /// <summary>The peak is that of a mean over 1 ms.</summary>
    private const int Smooth = (int)(0.001 * Rate);

    /// <summary>Strokes of two families this near disturb each other's bands.</summary>
    private const double Near = 0.010 * Rate;

    /// <summary>What a disturbed band still counts.</summary>
    private const double Disturbed = 0.1;

    /// <summary>Samples between the places tried first; then all around the best.</summary>
    private const int Coarse = 4;
    private const int Places = (2 * Reach / Coarse) + 1;

    /// <summary>Which bands (bit 0 = first) of a family (row) another (column) disturbs.</summary>
    private static readonly int[][] DisturbedBy =
    [
        [0, 0b110, 0b100, 0b100, 0b110],
        [0b001, 0, 0b100, 0b100, 0b001],
        [0b111, 0b111, 0, 0, 0b110],
        [0b111, 0b111, 0, 0, 0b110],
        [0b001, 0b110, 0b100, 0b100, 0],
    ];

    private readonly double[] _floor = new double[3];
    private readonly double[] _weight = new double[3];
    private readonly double[] _scores = new double[Places];
    private readonly double[] _powers = new double[2 * Places];

    /// <param name="view">The sound around the stroke.</param>
    /// <param name="strokes">All that the network heard, in order of time.</param>
    /// <param name="index">The one to time.</param>
    /// <returns>Its onset, an index of the view.</returns>
    public int Refine(StrokeView view, IReadOnlyList<CurveStroke> strokes, int index)
    {
        CurveStroke stroke = strokes[index];
        int family = (int)stroke.Family;
        int disturbed = 0;
        for (int i = index - 1; i >= 0 && stroke.Sample - strokes[i].Sample < Near; i--)
            disturbed |= DisturbedBy[family][(int)strokes[i].Family];
        for (int i = index + 1; i < strokes.Count && strokes[i].Sample - stroke.Sample < Near; i++)
            disturbed |= DisturbedBy[family][(int)strokes[i].Family];

        StrokeBands bands = StrokeBands.Of(stroke.Family);
        Vector256<double> most = view.MostEnergy(StrokeView.Half - Reach, End, Smooth);
        for (int band = 0; band < 3; band++)
        {
            _weight[band] = bands.Bands[band].SplitWeight * ((disturbed >> band & 1) != 0 ? Disturbed : 1);
            _floor[band] = (most[band] / Smooth * Ignored) + 1e-20;
        }

        int best = Best(view, StrokeView.Half - Reach, StrokeView.Half + Reach, Coarse);
        return Best(view, Math.Max(StrokeView.Half - Reach, best - Coarse), Math.Min(StrokeView.Half + Reach, best + Coarse), 1);
    }

    private int Best(StrokeView view, int from, int to, int step)
    {
        // All mean powers first, before each place and after it: logarithms are taken many at a time.
        int places = ((to - from) / step) + 1;
        Span<double> scores = _scores.AsSpan(0, places);
        Span<double> powers = _powers.AsSpan(0, 2 * places);
        for (int i = 0; i < places; i++)
        {
            double off = (from + (i * step) - StrokeView.Half) / Scatter;
            scores[i] = -off * off;
        }

        for (int band = 0; band < 3; band++)
        {
            for (int i = 0; i < places; i++)
            {
                int k = from + (i * step);
                powers[2 * i] = view.Mean(band, From, k) + _floor[band];
                powers[(2 * i) + 1] = view.Mean(band, k, End) + _floor[band];
            }

            TensorPrimitives.Log(powers, powers);
            for (int i = 0; i < places; i++)
            {
                int k = from + (i * step);
                scores[i] -= _weight[band] * (((k - From) * powers[2 * i]) + ((End - k) * powers[(2 * i) + 1]));
            }
        }

        return from + (step * TensorPrimitives.IndexOfMax<double>(scores));
    }
}
