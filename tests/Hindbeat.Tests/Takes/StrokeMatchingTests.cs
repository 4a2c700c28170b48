using CsCheck;
using Hindbeat.Takes;

namespace Hindbeat.Tests.Takes;

/// <summary>Against every possible pairing, tried one by one.</summary>
public class StrokeMatchingTests
{
    [Fact]
    public void No_other_pairing_in_order_costs_less() =>
        Gen.Select(Moments, Moments).Sample((first, second) =>
        {
            int[] match = StrokeMatching.Match(first, second);
            int[] used = [.. match.Where(j => j >= 0)];
            return used.SequenceEqual(used.Order().Distinct()) && Math.Abs(Cost(first, second, match) - Least(first, second, 0, 0)) < 1e-9;
        }, iter: 3000);

    private static Gen<double[]> Moments => Gen.Double[0, 3].Array[0, 7].Select(moments => moments.Order().ToArray());

    private static double Cost(double[] first, double[] second, int[] match)
    {
        double pairs = match.Select((j, i) => j < 0 ? 0 : Math.Pow((first[i] - second[j]) / StrokeMatching.Reach, 2)).Sum();
        return pairs + match.Count(j => j < 0) + (second.Length - match.Count(j => j >= 0));
    }

    private static double Least(double[] first, double[] second, int i, int j)
    {
        if (i == first.Length)
            return second.Length - j;
        if (j == second.Length)
            return first.Length - i;
        double best = 1 + Math.Min(Least(first, second, i + 1, j), Least(first, second, i, j + 1));
        double apart = Math.Abs(first[i] - second[j]);
        return apart < StrokeMatching.Farthest
            ? Math.Min(best, Math.Pow(apart / StrokeMatching.Reach, 2) + Least(first, second, i + 1, j + 1))
            : best;
    }
}
