namespace Hindbeat.Accuracy;

/// <summary>
/// Which heard moment stands for which true one? One to one within a window: as many pairs as possible, and of all such pairings the one whose distances add up to least.
/// </summary>
/// <remarks>
/// The number of pairs is that of the bipartite matching of mir_eval (Raffel et al., ISMIR 2014), which says nothing of which moments are paired. Two pairs that cross can
/// be uncrossed without a longer distance, in sum or at most, so pairs in order suffice; the best are found by dynamic programming over both rows, as sequences are aligned
/// (textbook, from memory). Pairs taken from left to right gave the first of two close true moments the only heard one, and so an error of their distance.
/// </remarks>
internal static class Pairing
{
    /// <param name="truth">Seconds, ascending.</param>
    /// <param name="heard">Seconds, ascending.</param>
    /// <returns>Pairs by index, ascending.</returns>
    public static List<(int True, int Heard)> Nearest(IReadOnlyList<double> truth, IReadOnlyList<double> heard, double windowMs)
    {
        double window = (windowMs / 1000.0) + 1e-9;
        List<(int True, int Heard)> pairs = [];
        (int t, int h) = (0, 0);
        while (t < truth.Count && h < heard.Count)
        {
            // A stretch without a gap wider than the window: nothing in it can be paired with anything outside.
            (int firstTrue, int firstHeard) = (t, h);
            double last = Math.Min(truth[t], heard[h]);
            while (true)
            {
                if (t < truth.Count && truth[t] - last <= window && (h == heard.Count || truth[t] <= heard[h]))
                    last = truth[t++];
                else if (h < heard.Count && heard[h] - last <= window)
                    last = heard[h++];
                else
                    break;
            }

            AddStretch(truth, firstTrue, t, heard, firstHeard, h, window, pairs);
        }

        return pairs;
    }

    private static void AddStretch(
        IReadOnlyList<double> truth, int firstTrue, int endTrue, IReadOnlyList<double> heard, int firstHeard, int endHeard, double window, List<(int True, int Heard)> pairs)
    {
        (int rows, int columns) = (endTrue - firstTrue, endHeard - firstHeard);

        // The best that can be made of the moments from row i and column j on.
        var best = new (int Pairs, double Distance)[rows + 1, columns + 1];
        for (int i = rows - 1; i >= 0; i--)
        {
            for (int j = columns - 1; j >= 0; j--)
            {
                var without = Better(best[i + 1, j], best[i, j + 1]) ? best[i + 1, j] : best[i, j + 1];
                best[i, j] = With(i, j) is { } with && !Better(without, with) ? with : without;
            }
        }

        for (int i = 0, j = 0; i < rows && j < columns;)
        {
            if (With(i, j) is { } with && with == best[i, j])
                pairs.Add((firstTrue + i++, firstHeard + j++));
            else if (best[i + 1, j] == best[i, j])
                i++;
            else
                j++;
        }

        (int Pairs, double Distance)? With(int i, int j)
        {
            double distance = Math.Abs(heard[firstHeard + j] - truth[firstTrue + i]);
            return distance > window ? null : (best[i + 1, j + 1].Pairs + 1, best[i + 1, j + 1].Distance + distance);
        }
    }

    private static bool Better((int Pairs, double Distance) a, (int Pairs, double Distance) b) => a.Pairs > b.Pairs || (a.Pairs == b.Pairs && a.Distance < b.Distance);
}
