namespace Hindbeat.Pulses;

/// <summary>
/// How a period breathes: the best local period every second, near a given one, chosen together so that it
/// changes little from second to second (Viterbi over windowed periodicities).
/// </summary>
internal sealed class LocalTempo
{
    /// <summary>Eight seconds hold two bars at most tempi: enough repeats, and a ritardando stays visible.</summary>
    private const double WindowSeconds = 8;

    private const double HopSeconds = 1;

    /// <summary>States reach 26 % to either side in steps of 1 %.</summary>
    private const int Reach = 26;

    private const double StepLog = 0.01;

    /// <summary>What a change of 1 % from one second to the next costs, in shares of a window's strongest comb.</summary>
    private const double ChangeCost = 0.05;

    private readonly double _start;
    private readonly double[] _periods;

    private LocalTempo(double start, double[] periods)
    {
        _start = start;
        _periods = periods;
    }

    public static Periodicity[] Windows(StrokeTrain strokes)
    {
        int windows = 1 + (int)Math.Ceiling((strokes.End - strokes.Start) / HopSeconds);
        return Periodicity.Along(strokes, windows, HopSeconds, WindowSeconds);
    }

    /// <param name="windows">From <see cref="Windows"/>, shared by all base periods.</param>
    /// <param name="period">Base period, seconds.</param>
    public static LocalTempo Follow(StrokeTrain strokes, Periodicity[] windows, double period)
    {
        int states = (2 * Reach) + 1;
        double[] best = new double[states];
        int[,] from = new int[windows.Length, states];
        double[] tried = [.. Enumerable.Range(-Reach, states).Select(s => period * Math.Exp(s * StepLog))];
        for (int w = 0; w < windows.Length; w++)
        {
            double[] here = new double[states];
            double strongest = 1e-9;
            for (int s = 0; s < states; s++)
            {
                here[s] = windows[w].Comb(tried[s]);
                strongest = Math.Max(strongest, here[s]);
            }

            double[] next = new double[states];
            for (int s = 0; s < states; s++)
            {
                double top = double.NegativeInfinity;
                // At most 4 % a second: faster is no ritardando but a jump to another stroke.
                for (int p = Math.Max(0, s - 4); p <= Math.Min(states - 1, s + 4); p++)
                {
                    double value = best[p] - (ChangeCost * (s - p) * (s - p));
                    if (value > top)
                    {
                        top = value;
                        from[w, s] = p;
                    }
                }

                // A little pull to the base keeps silent stretches from wandering.
                next[s] = top + (here[s] / strongest) - (0.0003 * (s - Reach) * (s - Reach));
            }

            best = next;
        }

        double[] periods = new double[windows.Length];
        int state = Array.IndexOf(best, best.Max());
        for (int w = windows.Length - 1; w >= 0; w--)
        {
            periods[w] = tried[state];
            state = from[w, state];
        }

        return new LocalTempo(strokes.Start, periods);
    }

    /// <summary>The longest period of all, seconds.</summary>
    public double Longest => _periods.Max();

    /// <summary>The period in seconds at a moment; constant beyond the ends.</summary>
    public double At(double time)
    {
        double place = Math.Clamp((time - _start) / HopSeconds, 0, _periods.Length - 1);
        int left = Math.Min((int)place, Math.Max(0, _periods.Length - 2));
        int right = Math.Min(left + 1, _periods.Length - 1);
        return _periods[left] + ((_periods[right] - _periods[left]) * (place - left));
    }
}
