using System.Numerics.Tensors;

namespace Hindbeat.Pulses;

/// <summary>
/// How often the passage repeats itself after a lag: a histogram of the times between strokes, over all pairs
/// and not only neighbours, which is the autocorrelation of the stroke train without a frame grid.
/// </summary>
/// <remarks>Cost: strokes × strokes within <see cref="LongestLag"/>, linear in the length of the passage.</remarks>
internal sealed class Periodicity
{
    /// <summary>Four beats at 60 bpm, the longest base period's whole comb.</summary>
    public const double LongestLag = 4.2;

    private const double BinSeconds = 0.005;

    /// <summary>Scatter of the interval between two strokes: about 10 ms of jitter in each (Räsänen et al. 2015 give 8.7 ms for a virtuoso hat).</summary>
    private const double LagScatter = 0.012;

    /// <summary>Strokes closer than this are one event (unisons, flams); their interval is no period.</summary>
    private const double ShortestLag = 0.06;

    private readonly double[] _strength;

    private Periodicity(double[] strength) => _strength = strength;

    /// <summary>Over all pairs of the passage.</summary>
    public static Periodicity Of(StrokeTrain strokes)
    {
        double[] bins = NoBins();
        ForEachPair(strokes, (_, lag, weight) => Add(bins, lag, weight));
        return new Periodicity(Smooth(bins));
    }

    /// <summary>In windows along the passage, the first about its first stroke: over pairs whose middle lies in the window, weighted toward its centre (Hann).</summary>
    /// <param name="hop">Seconds between windows.</param>
    /// <param name="length">Of a window, seconds.</param>
    public static Periodicity[] Along(StrokeTrain strokes, int windows, double hop, double length)
    {
        double[][] bins = [.. Enumerable.Range(0, windows).Select(_ => NoBins())];
        double start = strokes.Start - (length / 2);
        double turn = 2 * Math.PI / length;
        (double stepSine, double stepCosine) = Math.SinCos(turn * hop);
        ForEachPair(strokes, (middle, lag, weight) =>
        {
            int first = Math.Max(0, (int)Math.Floor((middle - start - length) / hop) + 1);
            int last = Math.Min(windows - 1, (int)Math.Ceiling((middle - start) / hop) - 1);
            // sin² of half the angle; from window to window the angle turns back by one step.
            (double sine, double cosine) = Math.SinCos(turn * (middle - start - (first * hop)));
            for (int w = first; w <= last; w++)
            {
                Add(bins[w], lag, weight * 0.5 * (1 - cosine));
                (sine, cosine) = ((sine * stepCosine) - (cosine * stepSine), (cosine * stepCosine) + (sine * stepSine));
            }
        });
        return Array.ConvertAll(bins, each => new Periodicity(Smooth(each)));
    }

    /// <summary>Middle, lag (both seconds) and weight of every pair of strokes that says something of a period.</summary>
    private static void ForEachPair(StrokeTrain strokes, Action<double, double, double> visit)
    {
        for (int i = 0; i < strokes.Count; i++)
        {
            for (int j = i + 1; j < strokes.Count; j++)
            {
                double lag = strokes.Times[j] - strokes.Times[i];
                if (lag >= LongestLag)
                    break;
                if (lag < ShortestLag)
                    continue;
                // The same role twice says more than two roles: a pattern repeats, a hat after a kick need not.
                double weight = strokes.Weights[i] * strokes.Weights[j] * (strokes.VoiceOf[i] == strokes.VoiceOf[j] ? 1.0 : 0.4);
                visit(strokes.Times[i] + (0.5 * lag), lag, weight);
            }
        }
    }

    private static double[] NoBins() => new double[(int)(LongestLag / BinSeconds) + 2];

    private static void Add(double[] bins, double lag, double weight)
    {
        double bin = lag / BinSeconds;
        int left = (int)bin;
        bins[left] += weight * (1 - (bin - left));
        bins[left + 1] += weight * (bin - left);
    }

    /// <summary>Strength at a lag in seconds, 0 or more; 0 beyond <see cref="LongestLag"/>.</summary>
    public double At(double lag)
    {
        double bin = lag / BinSeconds;
        int left = (int)bin;
        return left < 0 || left + 1 >= _strength.Length ? 0 : _strength[left] + ((_strength[left + 1] - _strength[left]) * (bin - left));
    }

    /// <summary>
    /// Mean strength at one, two, three and four periods. Not divided by anything: longer periods do not gain
    /// from lags they skip, and their relatives are compared later by how they explain the bars.
    /// </summary>
    public double Comb(double period)
    {
        double sum = 0;
        int teeth = 0;
        for (int m = 1; m <= 4 && m * period < LongestLag - 0.05; m++, teeth++)
            sum += At(m * period);
        return teeth == 0 ? 0 : sum / teeth;
    }

    /// <summary>The strongest periods, best first, none within 4 % of a better one.</summary>
    public IReadOnlyList<double> Strongest(double shortest, double longest, int most)
    {
        const double step = 1.004;
        List<(double Period, double Strength)> peaks = [];
        for (double period = shortest; period <= longest; period *= step)
        {
            double here = Comb(period);
            if (here > 0 && here >= Comb(period / step) && here >= Comb(period * step))
                peaks.Add((period, here));
        }

        List<double> chosen = [];
        foreach ((double period, _) in peaks.OrderByDescending(peak => peak.Strength))
        {
            if (chosen.Count < most && chosen.All(known => Math.Abs(Math.Log(period / known)) > 0.04))
                chosen.Add(period);
        }

        return chosen;
    }

    private static readonly int SmoothReach = (int)Math.Ceiling(3 * LagScatter / BinSeconds);

    private static readonly double[] Bell = [.. Enumerable.Range(-SmoothReach, (2 * SmoothReach) + 1).Select(k => Math.Exp(-0.5 * Math.Pow(k * BinSeconds / LagScatter, 2)))];

    private static double[] Smooth(double[] bins)
    {
        double[] smooth = new double[bins.Length];
        for (int i = 0; i < bins.Length; i++)
        {
            if (bins[i] == 0)
                continue;
            int from = Math.Max(0, i - SmoothReach);
            Span<double> around = smooth.AsSpan(from, Math.Min(bins.Length, i + SmoothReach + 1) - from);
            TensorPrimitives.MultiplyAdd(Bell.AsSpan(from - i + SmoothReach, around.Length), bins[i], around, around);
        }

        return smooth;
    }

    internal static int LowerBound(double[] sorted, double value)
    {
        int index = Array.BinarySearch(sorted, value);
        if (index < 0)
            return ~index;
        while (index > 0 && sorted[index - 1] == value)
            index--;
        return index;
    }
}
