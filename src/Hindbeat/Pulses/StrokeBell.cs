namespace Hindbeat.Pulses;

/// <summary>
/// ln of the density of a stroke about where it should sound, relative to the bell's peak: a bell of its scatter, a wider one for strays, and a floor, for anything may
/// happen. Looked up, for it is asked some hundred times a stroke.
/// </summary>
internal sealed class StrokeBell
{
    /// <summary>Density of strays relative to the bell's peak: a stroke further off than about 2.8 scatters is a stray.</summary>
    private const double Stray = 0.02;

    /// <summary>How far strays lie off, seconds: beyond a few of these it is no stray but a place of its own.</summary>
    private const double StrayScatter = 0.04;

    /// <summary>Anything may happen.</summary>
    private const double Anything = 2e-4;

    /// <summary>Beyond six stray scatters only the floor is left, seconds.</summary>
    private const double Reach = 0.24;

    /// <summary>Steps of 0.06 ms: the line between two lies within 5e-6 nats of the curve for a scatter of 10 ms, the least there is.</summary>
    private const int Steps = 4000;

    private readonly double[] _logs = new double[Steps + 2];

    /// <param name="scatter">Seconds.</param>
    public StrokeBell(double scatter)
    {
        for (int k = 0; k < _logs.Length; k++)
            _logs[k] = Formula(k * Reach / Steps, scatter);
    }

    /// <param name="off">Seconds from where the stroke should sound.</param>
    public double LogAt(double off)
    {
        double at = Math.Abs(off) * (Steps / Reach);
        if (at >= Steps)
            return _logs[Steps];
        int left = (int)at;
        return _logs[left] + ((at - left) * (_logs[left + 1] - _logs[left]));
    }

    private static double Formula(double off, double scatter)
    {
        double z = off / scatter;
        double stray = off / StrayScatter;
        return Math.Log(Math.Exp(-0.5 * z * z) + (Stray * Math.Exp(-0.5 * stray * stray)) + Anything);
    }
}
