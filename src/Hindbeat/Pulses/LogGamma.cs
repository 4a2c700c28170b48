namespace Hindbeat.Pulses;

/// <summary>ln Γ(x) for x &gt; 0 by Stirling's series after shifting x above 8; error below 1e-10.</summary>
internal static class LogGamma
{
    private const double HalfLogTwoPi = 0.918938533204672742;

    public static double Of(double x)
    {
        double shift = 1;
        while (x < 8)
        {
            shift *= x;
            x += 1;
        }

        double r = 1 / x;
        double r2 = r * r;
        double series = r * ((1.0 / 12) - (r2 * ((1.0 / 360) - (r2 * ((1.0 / 1260) - (r2 / 1680))))));
        return ((x - 0.5) * Math.Log(x)) - x + HalfLogTwoPi + series - Math.Log(shift);
    }
}
