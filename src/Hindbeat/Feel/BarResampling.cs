using System.Numerics.Tensors;
using Hindbeat.Units;

namespace Hindbeat.Feel;

/// <summary>
/// 95 % intervals by resampling bars. A figure is worked out once without each block (bar); the
/// differences are that bar's pull on it. Drawing as many bars as there are, with replacement, and adding
/// their pulls gives the figure as another passage of the same length would show it; the 2.5 % and 97.5 %
/// points of 2,000 and more such draws are the interval. Few bars under-state the spread, so the draws are
/// widened by t(0.975; ν) ÷ 1.96 with ν the effective number of bars the figure rests on, less one.
/// </summary>
/// <remarks>
/// Leave-one-out pulls: Quenouille and Tukey's jackknife; bootstrap of a linearised estimate: Davison and
/// Hinkley, Bootstrap Methods and their Application, 1997, ch. 2 (from memory). Where we differ from the
/// plain bootstrap and why: docs/decisions/feel-intervals.md.
/// </remarks>
internal sealed class BarResampling
{
    // As doubles, one row a block: all draws then grow side by side, a block at a time.
    private readonly double[] _times;
    private readonly double[] _draws;
    private readonly double[] _pulls;
    private readonly int _blocks;

    public BarResampling(int blocks, int resamples, ulong seed)
    {
        _blocks = blocks;
        _draws = new double[resamples];
        _pulls = new double[blocks];
        _times = new double[resamples * blocks];
        var random = new SplitMix64(seed);
        for (int r = 0; r < resamples; r++)
        {
            for (int i = 0; i < blocks; i++)
                _times[(random.Below(blocks) * resamples) + r]++;
        }
    }

    /// <summary>The figure's interval; null when it rests on a single block and so has no spread to resample.</summary>
    /// <param name="figure">The figure without block b; b = −1 for the whole passage. NaN = cannot be worked out.</param>
    /// <param name="share">How much of the figure's variance each block brings (any unit), from the counts of strokes.</param>
    /// <param name="fitted">Parameters fitted beside the figure that cost a block each (a straight line: 1).</param>
    /// <param name="leastSpread">
    /// Standard error of the figure if every stroke were independent, in the figure's unit; the interval is never
    /// narrower than 1.96 of it: a few bars that agree by luck must not look sure.
    /// </param>
    public Estimate? Interval(Func<int, double> figure, ReadOnlySpan<double> share, int fitted = 0, double leastSpread = 0)
    {
        double value = figure(-1);
        if (double.IsNaN(value))
            return null;
        double sum = 0;
        int playing = 0;
        for (int b = 0; b < _blocks; b++)
        {
            double without = share[b] > 0 ? figure(b) : value;
            if (double.IsNaN(without))
                return null;
            _pulls[b] = value - without;
            sum += _pulls[b];
            playing += share[b] > 0 ? 1 : 0;
        }

        double all = 0, squares = 0;
        foreach (double part in share)
            (all, squares) = (all + part, squares + (part * part));
        double effective = squares > 0 ? all * all / squares : 0;
        if (effective < 1.0 + 1e-9)
            return null;
        double degrees = Math.Max(effective - 1 - fitted, 1.0);

        // The jackknife's variance over k bars is (k−1)/k Σ(pull − mean)²; drawing bars gives Σ(pull − mean)².
        double shrink = Math.Sqrt((playing - 1.0) / playing), mean = sum / _blocks;
        for (int b = 0; b < _blocks; b++)
            _pulls[b] -= mean;
        Array.Clear(_draws);
        for (int b = 0; b < _blocks; b++)
            TensorPrimitives.MultiplyAdd(_times.AsSpan(b * _draws.Length, _draws.Length), _pulls[b], _draws, _draws);

        double below = Sorting.Quantile(_draws, 0.025), above = Sorting.Quantile(_draws, 0.975);
        double widen = shrink * StudentT.Quantile975(degrees) / StudentT.Normal975;
        double half = 0.5 * widen * (above - below), least = StudentT.Normal975 * leastSpread;
        if (half < least)
        {
            if (half < 1e-3 * least)
                return new Estimate(value, value - least, value + least);
            widen *= least / half;
        }

        return new Estimate(value, value + (widen * below), value + (widen * above));
    }
}
