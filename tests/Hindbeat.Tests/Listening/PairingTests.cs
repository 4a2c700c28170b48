using CsCheck;
using Hindbeat.Accuracy;

namespace Hindbeat.Tests.Listening;

/// <summary>The bench's pairing of heard with true moments, beside a dumb search through every pairing there is.</summary>
public class PairingTests
{
    private const double WindowMs = 50;

    /// <summary>Two moments just as far apart as the window are a pair, however their difference is rounded; seconds.</summary>
    private const double Rounding = 1e-9;

    [Fact]
    public void OneHeardStrokeForTwoWrittenOnesGoesToTheNearer()
    {
        Assert.Equal([(1, 0)], Pairing.Nearest([1.000, 1.030], [1.029], WindowMs));
        Assert.Equal([(0, 0)], Pairing.Nearest([1.000, 1.030], [1.002], WindowMs));
        Assert.Equal([(0, 1)], Pairing.Nearest([1.000], [0.960, 1.002, 1.030], WindowMs));
    }

    /// <summary>The nearest alone would leave the second true moment without one.</summary>
    [Fact]
    public void TwoPairsComeBeforeOneNearPair() =>
        Assert.Equal([(0, 0), (1, 1)], Pairing.Nearest([1.000, 1.040], [0.960, 1.005], WindowMs));

    /// <summary>Every one-to-one pairing is tried, crossed ones too; its largest count is that of mir_eval's bipartite matching (Raffel et al., ISMIR 2014).</summary>
    [Fact]
    public void NoPairingHasMorePairsOrLessDistance()
    {
        Gen<double[]> row = Gen.Double[0, 0.3].Array[0, 5].Select(times => times.Order().ToArray());
        Gen.Select(row, row).Sample(
            (truth, heard) =>
            {
                List<(int True, int Heard)> pairs = Pairing.Nearest(truth, heard, WindowMs);
                Assert.Equal(pairs.Count, pairs.Select(pair => pair.True).Distinct().Count());
                Assert.Equal(pairs.Count, pairs.Select(pair => pair.Heard).Distinct().Count());
                double[] distances = [.. pairs.Select(pair => Math.Abs(truth[pair.True] - heard[pair.Heard]))];
                Assert.All(distances, distance => Assert.InRange(distance, 0, (WindowMs / 1000) + 1e-8));
                (int Pairs, double Distance) best = Best(truth, 0, heard, []);
                Assert.Equal(best.Pairs, pairs.Count);
                Assert.Equal(best.Distance, distances.Sum(), 1e-12);
            },
            iter: 5000);
    }

    private static (int Pairs, double Distance) Best(double[] truth, int first, double[] heard, HashSet<int> taken)
    {
        if (first == truth.Length)
            return (0, 0);
        (int Pairs, double Distance) best = Best(truth, first + 1, heard, taken);
        for (int h = 0; h < heard.Length; h++)
        {
            double distance = Math.Abs(heard[h] - truth[first]);
            if (distance > (WindowMs / 1000) + Rounding || !taken.Add(h))
                continue;
            (int pairs, double sum) = Best(truth, first + 1, heard, taken);
            taken.Remove(h);
            if (pairs + 1 > best.Pairs || (pairs + 1 == best.Pairs && sum + distance < best.Distance))
                best = (pairs + 1, sum + distance);
        }

        return best;
    }
}
