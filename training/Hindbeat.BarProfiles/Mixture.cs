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
    public double LogLikelihood { get; private set; }

    public static Mixture Learn(IReadOnlyList<BarCounts> sections, int kinds, int seed)
    {
        Random random = new(seed);
        int cells = sections[0].Struck.Length;
        double[] mean = Chance(sections, [.. sections.Select(_ => 1.0)], Enumerable.Repeat(0.02, cells).ToArray());
        Mixture mixture = new()
        {
            Shares = [.. Enumerable.Repeat(1.0 / kinds, kinds)],
            Chances = [.. Enumerable.Range(0, kinds).Select(_ => Chance([sections[random.Next(sections.Count)]], [1.0], mean))],
        };
        double[][] belongs = [.. Enumerable.Range(0, kinds).Select(_ => new double[sections.Count])];
        for (int round = 0; round < Rounds; round++)
        {
            mixture.LogLikelihood = 0;
            for (int i = 0; i < sections.Count; i++)
            {
                double[] logs = [.. Enumerable.Range(0, kinds).Select(k => Math.Log(mixture.Shares[k]) + LogOf(sections[i], mixture.Chances[k]))];
                double top = logs.Max();
                double sum = logs.Sum(log => Math.Exp(log - top));
                for (int k = 0; k < kinds; k++)
                    belongs[k][i] = Math.Exp(logs[k] - top) / sum;
                mixture.LogLikelihood += top + Math.Log(sum);
            }

            for (int k = 0; k < kinds; k++)
            {
                mixture.Shares[k] = (belongs[k].Sum() + 1) / (sections.Count + kinds);
                mixture.Chances[k] = Chance(sections, belongs[k], mean);
            }
        }

        return mixture;
    }

    private static double[] Chance(IReadOnlyList<BarCounts> sections, double[] weights, double[] mean)
    {
        double[] chances = new double[mean.Length];
        for (int cell = 0; cell < chances.Length; cell++)
        {
            double struck = MeanAsBars * mean[cell];
            double bars = MeanAsBars;
            for (int i = 0; i < sections.Count; i++)
            {
                struck += weights[i] * sections[i].Struck[cell];
                bars += weights[i] * sections[i].Bars[cell % sections[i].Slots];
            }

            chances[cell] = Math.Clamp(struck / bars, Floor, 1 - Floor);
        }

        return chances;
    }

    private static double LogOf(BarCounts section, double[] chances)
    {
        double sum = 0;
        for (int cell = 0; cell < chances.Length; cell++)
        {
            int bars = section.Bars[cell % section.Slots];
            sum += (section.Struck[cell] * Math.Log(chances[cell])) + ((bars - section.Struck[cell]) * Math.Log(1 - chances[cell]));
        }

        // Bars of a section resemble each other; the likelihood of all is worth about half of independent bars.
        return 0.5 * sum;
    }
}
