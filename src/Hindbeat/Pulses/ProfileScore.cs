using System.Numerics.Tensors;

namespace Hindbeat.Pulses;

/// <summary>
/// How well folded bars are explained by known kinds of groove and by their own repetition: the marginal likelihood
/// ln Σ_k share_k · Π B(κp + n, κ(1−p) + N − n) / B(κp, κ(1−p)) over voices and slots, n bars of N struck. A slot's
/// chance p is the profile's guess; after a few bars the passage's own habit takes over, so any pattern that repeats is
/// explained well, and one that looks like drumming with this bar line best.
/// </summary>
internal static class ProfileScore
{
    public static double Of(BarProfiles profiles, BarCounts counts)
    {
        Span<double> logs = stackalloc double[profiles.Shares.Length];
        for (int k = 0; k < logs.Length; k++)
            logs[k] = Math.Log(profiles.Shares[k]);
        profiles.Marginals.AddTo(logs, counts);
        double top = TensorPrimitives.Max<double>(logs);
        double sum = 0;
        foreach (double log in logs)
            sum += Math.Exp(log - top);
        return top + Math.Log(sum);
    }
}
