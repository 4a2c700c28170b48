using System.Numerics.Tensors;
using Hindbeat.Pulses;

namespace Hindbeat.Training;

/// <summary>
/// A mixture of independent slots (Bernoulli), learned by expectation and maximisation. Chances are drawn toward
/// the mean of all sections, as if it had been seen for a few bars more, and never reach 0 or 1.
/// </summary>
internal sealed class Mixture
{
    private const double MeanAsBars = 4;
    private const double Floor = 0.002;
    private const int Rounds = 60;

    public required double[] Shares { get; init; }
    public required double[][] Chances { get; init; }
    public (double Mean, double Spread)[] Tempi { get; private set; } = [];
    public double LogLikelihood { get; private set; }

    public static Mixture Learn(IReadOnlyList<BarCounts> sections, double[] logBpm, int kinds, int seed)
    {
        Random random = new(seed);
        double[][] struck = [.. sections.Select(section => section.Struck.Select(n => (double)n).ToArray())];
        double[][] bars = [.. sections.Select(section => section.Struck.Select((_, cell) => (double)section.Bars[cell % section.Slots]).ToArray())];
        double[] mean = Chance(struck, bars, [.. sections.Select(_ => 1.0)], Enumerable.Repeat(0.02, struck[0].Length).ToArray());
        Mixture mixture = new()
        {
            Shares = [.. Enumerable.Repeat(1.0 / kinds, kinds)],
            Chances = [.. Enumerable.Range(0, kinds).Select(_ => random.Next(sections.Count)).Select(i => Chance([struck[i]], [bars[i]], [1.0], mean))],
        };
        double[][] belongs = [.. Enumerable.Range(0, kinds).Select(_ => new double[sections.Count])];
        for (int round = 0; round < Rounds; round++)
        {
            mixture.LogLikelihood = 0;
            double[][] logits = [.. mixture.Chances.Select(chances => chances.Select(p => Math.Log(p / (1 - p))).ToArray())];
            double[][] silences = [.. mixture.Chances.Select(chances => chances.Select(p => Math.Log(1 - p)).ToArray())];
            for (int i = 0; i < sections.Count; i++)
            {
                double[] logs = [.. LogsOf(struck[i], bars[i], logits, silences).Select((log, k) => Math.Log(mixture.Shares[k]) + log)];
                double top = logs.Max();
                double sum = logs.Sum(log => Math.Exp(log - top));
                for (int k = 0; k < kinds; k++)
                    belongs[k][i] = Math.Exp(logs[k] - top) / sum;
                mixture.LogLikelihood += top + Math.Log(sum);
            }

            for (int k = 0; k < kinds; k++)
            {
                mixture.Shares[k] = (belongs[k].Sum() + 1) / (sections.Count + kinds);
                mixture.Chances[k] = Chance(struck, bars, belongs[k], mean);
            }
        }

        mixture.Tempi = [.. belongs.Select(weights => Tempo(logBpm, weights))];
        return mixture;
    }

    /// <summary>Mean and spread of the sections' ln bpm, drawn toward those of all as if of four sections.</summary>
    private static (double Mean, double Spread) Tempo(double[] logBpm, double[] weights)
    {
        const double drawn = 4;
        double whole = logBpm.Average();
        double all = weights.Sum() + drawn;
        double mean = (weights.Zip(logBpm, (w, x) => w * x).Sum() + (drawn * whole)) / all;
        double squares = weights.Zip(logBpm, (w, x) => w * (x - mean) * (x - mean)).Sum() + (drawn * 0.3 * 0.3);
        return (mean, Math.Sqrt(squares / all));
    }

    private static double[] Chance(IEnumerable<double[]> struck, IEnumerable<double[]> bars, double[] weights, double[] mean)
    {
        double[] hits = [.. mean.Select(p => MeanAsBars * p)];
        double[] all = [.. mean.Select(_ => MeanAsBars)];
        int i = 0;
        foreach ((double[] section, double[] length) in struck.Zip(bars))
        {
            if (weights[i] > 1e-6)
            {
                TensorPrimitives.MultiplyAdd(section, weights[i], hits, hits);
                TensorPrimitives.MultiplyAdd(length, weights[i], all, all);
            }

            i++;
        }

        return [.. hits.Zip(all, (h, n) => Math.Clamp(h / n, Floor, 1 - Floor))];
    }

    /// <summary>How likely a section is under each kind, ln; bars of a section resemble each other, so all are worth about half of independent ones.</summary>
    private static double[] LogsOf(double[] struck, double[] bars, double[][] logits, double[][] silences) =>
        [.. logits.Select((logit, k) => 0.5 * (TensorPrimitives.Dot<double>(struck, logit) + TensorPrimitives.Dot<double>(bars, silences[k])))];
}
