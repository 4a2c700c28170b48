using System.Numerics.Tensors;

namespace Hindbeat.Pulses;

/// <summary>
/// A tempo that holds, then jumps or starts to slow: beat times as a line plus a few bends, each a kink (the tempo jumps) or a parabola
/// from its beat on (the tempo starts to change evenly). A smooth curve blurs such places over several beats.
/// </summary>
/// <remarks>
/// Forward selection of basis functions (u − k)₊ and (u − k)²₊, one at a time, each made orthogonal to those taken
/// (after J. Friedman, "Multivariate adaptive regression splines", Annals of Statistics 19(1), 1991). Where we differ: one variable,
/// one-sided functions, every bend is moved to its best place again when another has come, and the count of bends is judged by the
/// caller's generalised cross-validation.
/// </remarks>
internal sealed class BentCurve
{
    public const int MostBends = 6;

    /// <summary>Beats between possible bends are at least one, and so many that at most these are tried.</summary>
    private const int MostCandidates = 250;

    /// <summary>Beats before a bend and after it: fewer show no tempo.</summary>
    private const int LeastBeats = 3;

    /// <summary>Beats between bends: nearer ones trace strokes, not a tempo.</summary>
    private const double LeastBetween = 6;

    /// <summary>Drummers slow down more often than they jump: a jump must explain more to be taken for one.</summary>
    private const double JumpShare = 0.98;

    /// <summary>A bend may move so many of those steps when another has come: a first bend stands for two, half-way between them.</summary>
    private const int Reach = 10;

    /// <summary>Moving changes little after this many rounds.</summary>
    private const int Rounds = 3;

    private readonly double[] _places;
    private readonly double[] _times;
    private readonly double[] _root;
    private readonly int _beats;

    private BentCurve(double[] places, double[] times, double[] weights, int beats) =>
        (_places, _times, _root, _beats) = (places, times, [.. weights.Select(Math.Sqrt)], beats);

    /// <param name="Knot">Beat from which the tempo is another.</param>
    /// <param name="Power">1 = it jumps, 2 = it starts to change evenly.</param>
    private readonly record struct Bend(double Knot, int Power)
    {
        public double At(double place) => place <= Knot ? 0 : Power == 1 ? place - Knot : (place - Knot) * (place - Knot);
    }

    /// <param name="places">Mean place of the strokes of each beat that has any.</param>
    /// <param name="times">Their mean time, seconds.</param>
    /// <param name="weights">Their summed weight.</param>
    /// <returns>Beat times with one bend, two bends, and so on.</returns>
    public static IEnumerable<double[]> Fit(double[] places, double[] times, double[] weights, int beats) =>
        new BentCurve(places, times, weights, beats).Grow();

    private IEnumerable<double[]> Grow()
    {
        double step = Math.Max(1, Math.Round((double)_beats / MostCandidates));
        List<double> knots = [];
        for (double knot = LeastBeats; knot <= _beats - 1 - LeastBeats; knot += step)
            knots.Add(knot);
        List<Bend> bends = [];
        while (bends.Count < MostBends && Best(bends, knots) is { } added)
        {
            bends.Add(added);
            for (int round = 0; round < Rounds && bends.Count > 1; round++)
            {
                Bend[] before = [.. bends];
                for (int b = 0; b < bends.Count; b++)
                {
                    Bend moved = bends[b];
                    bends.RemoveAt(b);
                    double[] near = [.. Near(moved.Knot, step)];
                    bends.Insert(b, Best(bends, near) ?? moved);
                }

                if (bends.SequenceEqual(before))
                    break;
            }

            yield return Evaluate(bends);
        }
    }

    private IEnumerable<double> Near(double knot, double step)
    {
        for (int k = -Reach; k <= Reach; k++)
        {
            // The nearest three beats one by one, then in the steps of the search.
            double tried = knot + (Math.Abs(k) <= 3 ? k : k * step);
            if (tried >= LeastBeats && tried <= _beats - 1 - LeastBeats)
                yield return tried;
        }
    }

    /// <summary>The bend that explains most beside the given ones; null when none explains anything.</summary>
    private Bend? Best(List<Bend> beside, IReadOnlyList<double> knots)
    {
        (List<double[]> basis, double[] residual) = Basis(beside);
        double[] column = new double[_places.Length];
        Bend? best = null;
        double top = 0;
        foreach (double knot in knots)
        {
            if (beside.Any(bend => Math.Abs(bend.Knot - knot) < LeastBetween))
                continue;
            for (int power = 1; power <= 2; power++)
            {
                Bend tried = new(knot, power);
                Fill(column, tried);
                double full = TensorPrimitives.Dot<double>(column, column);
                foreach (double[] known in basis)
                    Subtract(column, known, TensorPrimitives.Dot<double>(column, known));
                double length = TensorPrimitives.Dot<double>(column, column);
                // What is left of a column that lies among the others is rounding.
                if (length < 1e-7 * full)
                    continue;
                double along = TensorPrimitives.Dot<double>(column, residual) * (power == 1 ? JumpShare : 1);
                if (along * along / length > top)
                    (top, best) = (along * along / length, tried);
            }
        }

        return best;
    }

    private (List<double[]> Basis, double[] Residual) Basis(List<Bend> bends)
    {
        List<double[]> basis = [];
        double[] residual = [.. _times.Select((time, i) => time * _root[i])];
        foreach (double[] column in Columns(bends))
        {
            // Twice: once is not enough in floating point when columns are alike.
            for (int round = 0; round < 2; round++)
            {
                foreach (double[] known in basis)
                    Subtract(column, known, TensorPrimitives.Dot<double>(column, known));
            }

            TensorPrimitives.Divide(column, Math.Sqrt(TensorPrimitives.Dot<double>(column, column)), column);
            basis.Add(column);
            Subtract(residual, column, TensorPrimitives.Dot<double>(residual, column));
        }

        return (basis, residual);
    }

    private IEnumerable<double[]> Columns(List<Bend> bends)
    {
        yield return [.. _root];
        yield return [.. _places.Select((place, i) => place * _root[i])];
        foreach (Bend bend in bends)
        {
            double[] column = new double[_places.Length];
            Fill(column, bend);
            yield return column;
        }
    }

    private void Fill(double[] column, Bend bend)
    {
        for (int i = 0; i < column.Length; i++)
            column[i] = bend.At(_places[i]) * _root[i];
    }

    /// <summary>Coefficients from R·c = Qᵀt by substitution backwards, then the beats' times.</summary>
    private double[] Evaluate(List<Bend> bends)
    {
        (List<double[]> basis, _) = Basis(bends);
        double[][] columns = [.. Columns(bends)];
        double[] weighted = [.. _times.Select((time, i) => time * _root[i])];
        double[] coefficients = new double[columns.Length];
        for (int j = columns.Length - 1; j >= 0; j--)
        {
            double right = TensorPrimitives.Dot<double>(basis[j], weighted);
            for (int k = j + 1; k < columns.Length; k++)
                right -= TensorPrimitives.Dot<double>(basis[j], columns[k]) * coefficients[k];
            coefficients[j] = right / TensorPrimitives.Dot<double>(basis[j], columns[j]);
        }

        double[] beats = new double[_beats];
        for (int k = 0; k < _beats; k++)
        {
            beats[k] = coefficients[0] + (coefficients[1] * k);
            for (int b = 0; b < bends.Count; b++)
                beats[k] += coefficients[b + 2] * bends[b].At(k);
        }

        return beats;
    }

    private static void Subtract(double[] from, double[] what, double times) => TensorPrimitives.MultiplyAdd(what, -times, from, from);
}
