using System.Numerics.Tensors;
using Hindbeat.Performances;

namespace Hindbeat.Feel;

/// <summary>
/// A second look at the swing that picks no strokes out: the autocorrelation of the onset strength, taken along the pulse so
/// that a drifting tempo does not blur it. A pair split long–short repeats at lags of half a pair ± the second stroke's
/// delay d. Those two lobes are fitted, with the lobe at one whole pair as the shape of a lobe, by least squares over d;
/// R = (m + d) ÷ (m − d) as everywhere. The sign of d is not in an autocorrelation, so R is at least 1.
/// </summary>
/// <remarks>
/// Dittmar, Pfleiderer, Müller, ISMIR 2015, and Marchand and Peeters, DAFx-15 (both read in abstract). Where we differ: lags
/// follow the pulse, and the two lobes are fitted rather than their peaks picked, because swings below the width of an
/// onset (about 10 ms) leave one merged peak. Least data: <see cref="FewestPairs"/> pairs of beats.
/// </remarks>
public static class SwingFromStrength
{
    public const int FewestPairs = 16;

    /// <summary>Samples of a pair along the pulse: 2 ms at a 16ths pair of 90 bpm.</summary>
    private const int PerPair = 168;

    /// <summary>The lobe at a whole pair must hold this share of the strength's variance, or nothing repeats there.</summary>
    private const double LeastRepeat = 0.1;

    /// <summary>The lobes between must stand this far out of the ground, as a share of the one at a whole pair.</summary>
    private const double LeastLobe = 0.08;

    /// <summary>Largest ratio looked for; above it the strokes are written out (3 : 1 is a dotted note).</summary>
    private const double LargestRatio = 3;

    /// <summary>Two estimates of a ratio that differ by less than this agree: the frames are 6 ms apart, onsets about 10 ms wide.</summary>
    private const double AgreeWithinMs = 12;

    /// <summary>The ratio, or null when the sound has no lobes to show between the pairs.</summary>
    /// <param name="pairBeats">Length of a pair in beats: 1 for 8ths in 4/4, 1/2 for 16ths.</param>
    public static double? Ratio(StrengthCurve sound, Pulse pulse, double pairBeats)
    {
        ArgumentNullException.ThrowIfNull(sound);
        ArgumentNullException.ThrowIfNull(pulse);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(pairBeats);
        double[] along = AlongPulse(sound, pulse, pairBeats);
        if (along.Length < FewestPairs * PerPair)
            return null;

        // Lags from a quarter of a pair to one and a quarter: the lobes between and the whole pair's.
        double[] same = new double[(PerPair * 5 / 4) + 1];
        for (int lag = PerPair / 8; lag < same.Length; lag++)
        {
            int count = along.Length - same.Length;
            same[lag] = TensorPrimitives.Dot<double>(along.AsSpan(0, count), along.AsSpan(lag, count)) / count;
        }

        int reach = PerPair / 4, half = PerPair / 2;
        double[] lobe = [.. Enumerable.Range(-reach, (2 * reach) + 1).Select(x => 0.5 * (same[PerPair + x] + same[PerPair - x]))];
        double ground = lobe.Min();
        for (int i = 0; i < lobe.Length; i++)
            lobe[i] = Math.Max(lobe[i] - ground, 0);
        double[] between = [.. Enumerable.Range(-reach, (2 * reach) + 1).Select(x => 0.5 * (same[half + x] + same[half - x]))];

        int most = (int)(half * (LargestRatio - 1) / (LargestRatio + 1));
        double bestMiss = double.PositiveInfinity, bestHeight = 0;
        double[] misses = new double[most + 1];
        int best = 0;
        for (int d = 0; d <= most; d++)
        {
            (misses[d], double height) = FitLobes(between, lobe, d);
            if (misses[d] < bestMiss)
                (bestMiss, bestHeight, best) = (misses[d], height, d);
        }

        double variance = along.Sum(value => value * value) / along.Length;
        if (lobe.Max() < LeastRepeat * variance || variance <= 0 || 2 * bestHeight < LeastLobe || best == most)
            return null;
        double delay = best;
        if (best > 0)
        {
            // The bottom of a parabola through the three misses around the best.
            double left = misses[best - 1], right = misses[best + 1], bend = left - (2 * bestMiss) + right;
            delay += bend > 0 ? 0.5 * (left - right) / bend : 0;
        }

        return SwingRatio.FromDelay(half, Math.Max(delay, 0));
    }

    /// <summary>The first figure of each level gets the sound's ratio, and a doubt when the two disagree.</summary>
    internal static IReadOnlyList<SwingFigure> Beside(IReadOnlyList<SwingFigure> figures, StrokeTable table, StrengthCurve sound)
    {
        var done = new HashSet<SwingLevel>();
        var result = new List<SwingFigure>();
        foreach (SwingFigure figure in figures)
        {
            if (!done.Add(figure.Level) || table.Grid.PairOf(figure.Level) is not { } pair || Ratio(sound, table.Performance.Pulse, pair.ToDouble()) is not { } second)
            {
                result.Add(figure);
                continue;
            }

            // Compared as delays; the strokes' own interval, doubled, is allowed on top.
            double half = 500 * pair.ToDouble() * table.Performance.Pulse.MeanTempo.Beat.Value;
            double apart = Math.Abs(SwingRatio.ToDelay(half, second) - Math.Abs(figure.DelayMs.Value));
            bool disagree = figure.Verdict != SwingVerdict.Undecided && apart > AgreeWithinMs + (2 * figure.DelayMs.HalfWidth);
            result.Add(figure with
            {
                RatioFromSound = second,
                Doubts = disagree ? [.. figure.Doubts, new SwingEstimatesDisagree(figure.Ratio.Value, second)] : figure.Doubts,
            });
        }

        return result;
    }

    private static double[] AlongPulse(StrengthCurve sound, Pulse pulse, double pairBeats)
    {
        int pairs = (int)((pulse.Beats.Count - 1) / pairBeats);
        double[] along = new double[pairs * PerPair];
        double mean = 0;
        for (int i = 0; i < along.Length; i++)
        {
            // The root tames single loud strokes, which would otherwise speak for the whole passage.
            along[i] = Math.Sqrt(Math.Max(sound.At(pulse.TimeAt(i * pairBeats / PerPair).TotalSeconds), 0));
            mean += along[i] / along.Length;
        }

        for (int i = 0; i < along.Length; i++)
            along[i] -= mean;
        return along;
    }

    /// <summary>between(x) ≈ a + h·(lobe(x − d) + lobe(x + d)): what is left over, squared, and h.</summary>
    private static (double Miss, double Height) FitLobes(double[] between, double[] lobe, int d)
    {
        int n = between.Length;
        double s = 0, ss = 0, y = 0, sy = 0, yy = 0;
        for (int i = 0; i < n; i++)
        {
            double shape = (i - d >= 0 ? lobe[i - d] : 0) + (i + d < n ? lobe[i + d] : 0);
            (s, ss, y, sy, yy) = (s + shape, ss + (shape * shape), y + between[i], sy + (shape * between[i]), yy + (between[i] * between[i]));
        }

        double spread = ss - (s * s / n), height = spread > 0 ? (sy - (s * y / n)) / spread : 0;
        return height <= 0 ? (yy - (y * y / n), 0) : (yy - (y * y / n) - (height * height * spread), height);
    }
}
