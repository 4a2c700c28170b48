namespace Hindbeat.Pulses;

/// <summary>
/// How well folded bars are explained by known kinds of groove and by their own repetition: the marginal likelihood
/// ln Σ_k share_k · Π B(κp + n, κ(1−p) + N − n) / B(κp, κ(1−p)) over voices and slots, n bars of N struck. A slot's
/// chance p is the profile's guess; after a few bars the passage's own habit takes over, so any pattern that repeats is
/// explained well, and one that looks like drumming with this bar line best.
/// </summary>
/// <remarks>One instance serves all bar phases of one meter, for the profile terms of an empty slot depend only on N.</remarks>
internal sealed class ProfileScore
{
    /// <summary>κ: the profile's guess weighs as much as this many bars.</summary>
    private const double GuessWeight = 5;

    private readonly BarProfiles _profiles;
    private readonly Dictionary<int, double[][]> _empty = [];

    public ProfileScore(BarProfiles profiles) => _profiles = profiles;

    public double Of(BarCounts counts)
    {
        double[] logs = new double[_profiles.Shares.Length];
        int few = counts.Bars.Min();
        int many = counts.Bars.Max();
        double[][] emptyFew = Empty(few);
        double[][] emptyMany = Empty(many);
        for (int k = 0; k < logs.Length; k++)
        {
            double[] chances = _profiles.Chances[k];
            double sum = Math.Log(_profiles.Shares[k]);
            for (int cell = 0, slot = 0; cell < chances.Length; cell++, slot++)
            {
                if (slot == counts.Slots)
                    slot = 0;
                int bars = counts.Bars[slot];
                int struck = counts.Struck[cell];
                sum += struck == 0
                    ? (bars == few ? emptyFew : emptyMany)[k][cell]
                    : LogMarginal(chances[cell], struck, bars);
            }

            logs[k] = sum;
        }

        double top = logs.Max();
        return top + Math.Log(logs.Sum(log => Math.Exp(log - top)));
    }

    private double[][] Empty(int bars)
    {
        if (!_empty.TryGetValue(bars, out double[][]? table))
            _empty[bars] = table = [.. _profiles.Chances.Select(chances => chances.Select(p => LogMarginal(p, 0, bars)).ToArray())];
        return table;
    }

    private static double LogMarginal(double p, int struck, int bars)
    {
        double a = GuessWeight * p;
        double b = GuessWeight * (1 - p);
        double missed = LogGamma.Of(b + bars - struck) - LogGamma.Of(b);
        double hit = struck == 0 ? 0 : LogGamma.Of(a + struck) - LogGamma.Of(a);
        return hit + missed + LogGamma.Of(GuessWeight) - LogGamma.Of(GuessWeight + bars);
    }
}
