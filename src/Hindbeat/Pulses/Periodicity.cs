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

    /// <summary>Over pairs whose middle lies in [from, to], weighted toward its centre (Hann) when tapered.</summary>
    public static Periodicity Of(StrokeTrain strokes, double from = double.NegativeInfinity, double to = double.PositiveInfinity)
    {
        double[] bins = new double[(int)(LongestLag / BinSeconds) + 2];
        bool tapered = double.IsFinite(from) && double.IsFinite(to);
        int first = LowerBound(strokes.Times, from - LongestLag);
        for (int i = first; i < strokes.Count && strokes.Times[i] < to; i++)
        {
            for (int j = i + 1; j < strokes.Count; j++)
            {
                double lag = strokes.Times[j] - strokes.Times[i];
                if (lag >= LongestLag)
                    break;
                if (lag < ShortestLag)
                    continue;
                double weight = strokes.Weights[i] * strokes.Weights[j];
                // The same role twice says more than two roles: a pattern repeats, a hat after a kick need not.
                weight *= strokes.VoiceOf[i] == strokes.VoiceOf[j] ? 1.0 : 0.4;
                if (tapered)
                {
                    double middle = (strokes.Times[i] + (0.5 * lag) - from) / (to - from);
                    if (middle is <= 0 or >= 1)
                        continue;
                    weight *= Math.Sin(Math.PI * middle) * Math.Sin(Math.PI * middle);
                }

                double bin = lag / BinSeconds;
                int left = (int)bin;
                bins[left] += weight * (1 - (bin - left));
                bins[left + 1] += weight * (bin - left);
            }
        }

        return new Periodicity(Smooth(bins));
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

    private static double[] Smooth(double[] bins)
    {
        int reach = (int)Math.Ceiling(3 * LagScatter / BinSeconds);
        double[] kernel = new double[(2 * reach) + 1];
        for (int k = -reach; k <= reach; k++)
            kernel[k + reach] = Math.Exp(-0.5 * Math.Pow(k * BinSeconds / LagScatter, 2));
        double[] smooth = new double[bins.Length];
        for (int i = 0; i < bins.Length; i++)
        {
            if (bins[i] == 0)
                continue;
            for (int k = Math.Max(-reach, -i); k <= reach && i + k < bins.Length; k++)
                smooth[i + k] += bins[i] * kernel[k + reach];
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
