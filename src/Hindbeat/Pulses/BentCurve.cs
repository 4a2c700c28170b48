namespace Hindbeat.Pulses;

/// <summary>
/// A tempo that holds, then jumps or starts to slow: beat times as a line plus a few bends, each a kink (the tempo jumps) or a parabola
/// from its beat on (the tempo starts to change evenly). A smooth curve blurs such places over several beats.
/// </summary>
/// <remarks>
/// Forward selection of basis functions (u − k)₊ and (u − k)²₊, one at a time, each made orthogonal to those taken
/// (after J. Friedman, "Multivariate adaptive regression splines", Annals of Statistics 19(1), 1991). Where we differ: one variable,
/// one-sided functions, and the count of bends is judged by the caller's generalised cross-validation.
/// </remarks>
internal static class BentCurve
{
    public const int MostBends = 6;

    /// <summary>Beats between possible bends are at least one, and so many that at most these are tried.</summary>
    private const int MostCandidates = 500;

    /// <summary>Beats before a bend and after it: fewer show no tempo.</summary>
    private const int LeastBeats = 3;

    /// <param name="places">Mean place of the strokes of each beat that has any.</param>
    /// <param name="times">Their mean time, seconds.</param>
    /// <param name="weights">Their summed weight.</param>
    /// <returns>Beat times with one bend, two bends, and so on.</returns>
    public static IEnumerable<double[]> Fit(double[] places, double[] times, double[] weights, int beats)
    {
        int n = places.Length;
        double[] root = [.. weights.Select(Math.Sqrt)];
        List<Func<double, double>> functions = [_ => 1, u => u];
        List<double[]> basis = [];
        double[] residual = [.. times.Select((t, i) => t * root[i])];
        foreach (Func<double, double> function in functions)
            Take(Column(function, places, root), basis, residual);
        double step = Math.Max(1, (double)beats / MostCandidates);
        List<Func<double, double>> candidates = [];
        for (double knot = LeastBeats; knot <= beats - 1 - LeastBeats; knot += step)
        {
            double k = Math.Round(knot);
            candidates.Add(u => Math.Max(0, u - k));
            candidates.Add(u => u > k ? (u - k) * (u - k) : 0);
        }

        double[] column = new double[n];
        for (int bends = 1; bends <= MostBends && candidates.Count > 0; bends++)
        {
            int best = -1;
            double top = 0;
            for (int c = 0; c < candidates.Count; c++)
            {
                for (int i = 0; i < n; i++)
                    column[i] = candidates[c](places[i]) * root[i];
                double full = Dot(column, column);
                foreach (double[] known in basis)
                    Subtract(column, known, Dot(column, known));
                double length = Dot(column, column);
                // What is left of a column that lies among the others is rounding.
                if (length < 1e-7 * full)
                    continue;
                double along = Dot(column, residual);
                if (along * along / length > top)
                    (top, best) = (along * along / length, c);
            }

            if (best < 0)
                yield break;
            functions.Add(candidates[best]);
            Take(Column(candidates[best], places, root), basis, residual);
            candidates.RemoveAt(best);
            yield return Evaluate(functions, basis, places, times, root, beats);
        }
    }

    private static double[] Column(Func<double, double> function, double[] places, double[] root) =>
        [.. places.Select((u, i) => function(u) * root[i])];

    /// <summary>Makes a column orthonormal to the basis, adds it, and takes it out of the residual.</summary>
    private static void Take(double[] column, List<double[]> basis, double[] residual)
    {
        // Twice: once is not enough in floating point when columns are alike.
        for (int round = 0; round < 2; round++)
        {
            foreach (double[] known in basis)
                Subtract(column, known, Dot(column, known));
        }

        double length = Math.Sqrt(Dot(column, column));
        for (int i = 0; i < column.Length; i++)
            column[i] /= length;
        basis.Add(column);
        Subtract(residual, column, Dot(residual, column));
    }

    /// <summary>Coefficients from R·c = Qᵀt by substitution backwards, then the beats' times.</summary>
    private static double[] Evaluate(List<Func<double, double>> functions, List<double[]> basis, double[] places, double[] times, double[] root, int beats)
    {
        int p = functions.Count;
        double[] weighted = [.. times.Select((t, i) => t * root[i])];
        double[][] columns = [.. functions.Select(function => Column(function, places, root))];
        double[] coefficients = new double[p];
        for (int j = p - 1; j >= 0; j--)
        {
            double right = Dot(basis[j], weighted);
            for (int k = j + 1; k < p; k++)
                right -= Dot(basis[j], columns[k]) * coefficients[k];
            coefficients[j] = right / Dot(basis[j], columns[j]);
        }

        return [.. Enumerable.Range(0, beats).Select(k => functions.Select((function, j) => coefficients[j] * function(k)).Sum())];
    }

    private static double Dot(double[] a, double[] b) => System.Numerics.Tensors.TensorPrimitives.Dot(a, b);

    private static void Subtract(double[] from, double[] what, double times)
    {
        for (int i = 0; i < from.Length; i++)
            from[i] -= times * what[i];
    }
}
