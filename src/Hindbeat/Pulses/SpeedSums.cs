namespace Hindbeat.Pulses;

/// <summary>
/// How beat times change with the tempo near a known curve: t(u) = t₀ + ∫ du / v, so a change of the speed v (beats a second) changes them by
/// −∫ δv / v² du. Sums of 1/v² and u/v² along the curve give that for a speed that jumps at a beat or changes evenly from it on.
/// </summary>
internal sealed class SpeedSums
{
    /// <summary>Steps of the sums, a beat.</summary>
    private const int Steps = 4;

    private readonly double[] _beats;
    private readonly double[] _one;
    private readonly double[] _place;

    /// <param name="beats">Rising, seconds, at least 3.</param>
    public SpeedSums(double[] beats)
    {
        _beats = beats;
        int nodes = ((beats.Length - 1) * Steps) + 1;
        _one = new double[nodes];
        _place = new double[nodes];
        for (int k = 1; k < nodes; k++)
        {
            double place = (k - 0.5) / Steps;
            double length = beats[(int)place + 1] - beats[(int)place];
            _one[k] = _one[k - 1] + (length * length / Steps);
            _place[k] = _place[k - 1] + (place * length * length / Steps);
        }
    }

    public double TimeAt(double place) => BeatTimes.At(_beats, place);

    /// <summary>∫ 1/v² from a beat on to a place; 0 before it.</summary>
    public double Jump(double from, double to) => to <= from ? 0 : At(_one, to) - At(_one, from);

    /// <summary>∫ (u − from)/v² from a beat on to a place; 0 before it.</summary>
    public double Start(double from, double to) => to <= from ? 0 : At(_place, to) - At(_place, from) - (from * (At(_one, to) - At(_one, from)));

    /// <summary>Beat times of a speed, from 0; null where it is not above zero.</summary>
    /// <param name="speed">Beats a second at a place.</param>
    public static double[]? Integrate(int beats, Func<double, double> speed)
    {
        double[] times = new double[beats];
        for (int k = 1; k < beats; k++)
        {
            times[k] = times[k - 1];
            for (int step = 0; step < Steps; step++)
            {
                double here = speed(k - 1 + ((step + 0.5) / Steps));
                if (here < 0.05)
                    return null;
                times[k] += 1 / (Steps * here);
            }
        }

        return times;
    }

    private static double At(double[] sums, double place)
    {
        double at = place * Steps;
        int left = Math.Clamp((int)at, 0, sums.Length - 2);
        return sums[left] + ((at - left) * (sums[left + 1] - sums[left]));
    }
}
