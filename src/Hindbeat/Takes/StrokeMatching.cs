namespace Hindbeat.Takes;

/// <summary>
/// Pairs two rows of moments in order, so that what is left alone and what is paired at a distance cost least together:
/// a stroke left alone costs 1, a pair (distance ÷ <see cref="Reach"/>)².
/// </summary>
/// <remarks>
/// The alignment of two sequences with gaps by dynamic programming (Needleman and Wunsch, J. Mol. Biol. 48, 1970; stated from
/// memory), within a band of <see cref="Band"/> beats about the diagonal.
/// </remarks>
internal static class StrokeMatching
{
    /// <summary>Beats at which a pair costs as much as one stroke left alone.</summary>
    public const double Reach = 0.18;

    /// <summary>Farther apart two strokes are never one, beats: a pair of strokes left alone is then cheaper.</summary>
    public const double Farthest = 0.25;

    private const double Band = 1.0;

    private const byte Pair = 1, LeaveFirst = 2, LeaveSecond = 3;

    /// <param name="first">Ascending, beats.</param>
    /// <param name="second">Ascending, beats.</param>
    /// <returns>For each of <paramref name="first"/> the index in <paramref name="second"/>, or −1.</returns>
    public static int[] Match(double[] first, double[] second)
    {
        int n = first.Length, m = second.Length;
        int[] low = new int[n + 1], high = new int[n + 1];
        for (int i = 0, from = 0, to = 0; i < n; i++)
        {
            while (from < m && second[from] < first[i] - Band)
                from++;
            while (to < m && second[to] <= first[i] + Band)
                to++;
            (low[i + 1], high[i + 1]) = (from, Math.Max(from, to));
        }

        high[0] = low[0] = 0;
        byte[][] steps = new byte[n + 1][];
        double[] before = [0];
        for (int i = 1; i <= n; i++)
        {
            double[] row = new double[high[i] - low[i] + 1];
            byte[] step = steps[i] = new byte[row.Length];
            for (int j = low[i]; j <= high[i]; j++)
            {
                double best = Before(j) + 1;
                byte way = LeaveFirst;
                if (j > 0 && Math.Abs(first[i - 1] - second[j - 1]) < Farthest)
                {
                    double apart = (first[i - 1] - second[j - 1]) / Reach;
                    double cost = Before(j - 1) + (apart * apart);
                    if (cost < best)
                        (best, way) = (cost, Pair);
                }

                if (j > low[i] && row[j - low[i] - 1] + 1 < best)
                    (best, way) = (row[j - low[i] - 1] + 1, LeaveSecond);
                row[j - low[i]] = best;
                step[j - low[i]] = way;
            }

            before = row;

            // Beyond the band of the row before, what lies between is left alone.
            double Before(int j) =>
                j < low[i - 1] ? double.PositiveInfinity
                : j > high[i - 1] ? before[high[i - 1] - low[i - 1]] + (j - high[i - 1])
                : before[j - low[i - 1]];
        }

        int[] match = new int[n];
        Array.Fill(match, -1);
        for (int i = n, j = n == 0 ? 0 : high[n]; i > 0;)
        {
            if (j > high[i])
            {
                j = high[i];
                continue;
            }

            switch (steps[i][j - low[i]])
            {
                case Pair:
                    match[--i] = --j;
                    break;
                case LeaveSecond:
                    j--;
                    break;
                default:
                    i--;
                    break;
            }
        }

        return match;
    }
}
