using System.Numerics.Tensors;

namespace Hindbeat.Pulses;

/// <summary>
/// A tempo that holds, then jumps or starts to slow: a constant speed (beats a second) plus a few bends, at each of which it jumps or starts to
/// change evenly from beat to beat. A smooth curve blurs such places over several beats.
/// </summary>
/// <remarks>
/// Beat times are t(u) = t₀ + ∫ du/v, near a known curve v₀ a line in v: t ≈ 2·t₀(u) − ∫ v/v₀² du (<see cref="SpeedSums"/>). Basis functions of the bends are taken
/// one at a time, each made orthogonal to those taken, then taken out again one at a time (after J. Friedman, "Multivariate adaptive regression splines", Annals of
/// Statistics 19(1), 1991). Where we differ: one variable, one-sided functions, every bend is moved to its best place again when another has
/// come or gone, and the count of bends is judged by the caller's generalised cross-validation. Measured final ritardandi follow v(u) = (1 + (wᵠ − 1)·u)^(1/q),
/// q about 2 to 3 (Friberg and Sundberg, JASA 105(3), 1999, stated from memory); a speed that changes evenly is q = 1, beats that change evenly in length are q = −1.
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

    /// <summary>Columns without any bend: where it starts and one speed.</summary>
    private const int Steady = 2;

    private readonly double[] _places;
    private readonly double[] _times;

    /// <summary>What the line in v explains: times less twice the known curve's.</summary>
    private readonly double[] _targets;

    private readonly double[] _root;
    private readonly int _beats;
    private readonly SpeedSums _about;

    /// <summary>Columns made orthogonal, what they leave of the targets, and a column that is tried: filled anew for every set of bends. A long passage that stumbles asks for many.</summary>
    private readonly double[][] _basis;
    private readonly double[] _residual;
    private readonly double[] _column;

    private BentCurve(double[] places, double[] times, double[] weights, int beats, SpeedSums about)
    {
        (_places, _times, _root, _beats, _about) = (places, times, [.. weights.Select(Math.Sqrt)], beats, about);
        _targets = [.. times.Select((time, i) => time - (2 * about.TimeAt(places[i])))];
        _basis = [.. Enumerable.Range(0, Steady + MostBends).Select(_ => new double[places.Length])];
        _residual = new double[places.Length];
        _column = new double[places.Length];
    }

    /// <param name="Knot">Beat from which the tempo is another.</param>
    /// <param name="Power">1 = it jumps, 2 = it starts to change evenly.</param>
    private readonly record struct Bend(double Knot, int Power);

    /// <param name="places">Mean place of the strokes of each beat that has any.</param>
    /// <param name="times">Their mean time, seconds.</param>
    /// <param name="weights">Their summed weight.</param>
    /// <param name="about">Rising beat times near which bends are looked for.</param>
    /// <returns>Beat times with one bend, two bends, and so on.</returns>
    public static IEnumerable<(double[] Beats, int Bends)> Fit(double[] places, double[] times, double[] weights, int beats, double[] about) =>
        new BentCurve(places, times, weights, beats, new SpeedSums(about)).Grow();

    private IEnumerable<(double[] Beats, int Bends)> Grow()
    {
        double step = Math.Max(1, Math.Round((double)_beats / MostCandidates));
        List<double> knots = [];
        for (double knot = LeastBeats; knot <= _beats - 1 - LeastBeats; knot += step)
            knots.Add(knot);
        Dictionary<int, (Bend[] Bends, double Squares)> best = [];
        List<Bend> bends = [];
        while (bends.Count < MostBends && Best(bends, knots) is { } added)
        {
            bends.Add(added);
            Keep();
        }

        // The first bends stand for later ones half-way between them and are never missed: taken out again one by one, the others find their places.
        while (bends.Count > 1)
        {
            bends.RemoveAt(Enumerable.Range(0, bends.Count).MinBy(b => Squares([.. bends.Where((_, other) => other != b)])));
            Keep();
        }

        foreach ((int count, (Bend[] chosen, _)) in best.OrderBy(pair => pair.Key))
        {
            if (Evaluate([.. chosen]) is { } beats)
                yield return (beats, count);
        }

        void Keep()
        {
            Move(bends, step);
            double squares = Squares(bends);
            if (!best.TryGetValue(bends.Count, out (Bend[] Bends, double Squares) known) || squares < known.Squares)
                best[bends.Count] = ([.. bends], squares);
        }
    }

    /// <summary>Moves every bend to its best place beside the others.</summary>
    private void Move(List<Bend> bends, double step)
    {
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
    }

    private double Squares(List<Bend> bends)
    {
        MakeBasis(bends);
        return TensorPrimitives.Dot<double>(_residual, _residual);
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
        MakeBasis(beside);
        double[] column = _column;
        Bend? best = null;
        double top = 0;
        foreach (double knot in knots)
        {
            if (IsTaken(beside, knot))
                continue;
            for (int power = 1; power <= 2; power++)
            {
                Bend tried = new(knot, power);
                Fill(column, tried);
                double full = TensorPrimitives.Dot<double>(column, column);
                foreach (double[] known in _basis.AsSpan(0, Steady + beside.Count))
                    Subtract(column, known, TensorPrimitives.Dot<double>(column, known));
                double length = TensorPrimitives.Dot<double>(column, column);
                // What is left of a column that lies among the others is rounding.
                if (length < 1e-7 * full)
                    continue;
                double along = TensorPrimitives.Dot<double>(column, _residual) * (power == 1 ? JumpShare : 1);
                if (along * along / length > top)
                    (top, best) = (along * along / length, tried);
            }
        }

        return best;
    }

    private static bool IsTaken(List<Bend> beside, double knot)
    {
        foreach (Bend bend in beside)
        {
            if (Math.Abs(bend.Knot - knot) < LeastBetween)
                return true;
        }

        return false;
    }

    /// <summary>Fills the basis with the steady columns and one for each bend, and the residual with what they leave.</summary>
    private void MakeBasis(List<Bend> bends)
    {
        TensorPrimitives.Multiply(_targets, _root, _residual);
        for (int j = 0; j < Steady + bends.Count; j++)
        {
            double[] column = _basis[j];
            FillColumn(column, j, bends);

            // Twice: once is not enough in floating point when columns are alike.
            for (int round = 0; round < 2; round++)
            {
                foreach (double[] known in _basis.AsSpan(0, j))
                    Subtract(column, known, TensorPrimitives.Dot<double>(column, known));
            }

            TensorPrimitives.Divide(column, Math.Sqrt(TensorPrimitives.Dot<double>(column, column)), column);
            Subtract(_residual, column, TensorPrimitives.Dot<double>(_residual, column));
        }
    }

    /// <param name="index">0 = where it starts, 1 = one speed, then the bends.</param>
    private void FillColumn(double[] column, int index, List<Bend> bends)
    {
        if (index == 0)
            _root.CopyTo(column, 0);
        else
            Fill(column, index == 1 ? new Bend(0, 1) : bends[index - Steady]);
    }

    private void Fill(double[] column, Bend bend)
    {
        for (int i = 0; i < column.Length; i++)
            column[i] = (bend.Power == 1 ? _about.Jump(bend.Knot, _places[i]) : _about.Start(bend.Knot, _places[i])) * _root[i];
    }

    /// <summary>Coefficients from R·c = Qᵀt by substitution backwards, then the beats' times.</summary>
    private double[]? Evaluate(List<Bend> bends)
    {
        MakeBasis(bends);
        double[][] columns = [.. Enumerable.Range(0, Steady + bends.Count).Select(_ => new double[_places.Length])];
        for (int j = 0; j < columns.Length; j++)
            FillColumn(columns[j], j, bends);
        double[] weighted = [.. _targets.Select((target, i) => target * _root[i])];
        double[] coefficients = new double[columns.Length];
        for (int j = columns.Length - 1; j >= 0; j--)
        {
            double right = TensorPrimitives.Dot<double>(_basis[j], weighted);
            for (int k = j + 1; k < columns.Length; k++)
                right -= TensorPrimitives.Dot<double>(_basis[j], columns[k]) * coefficients[k];
            coefficients[j] = right / TensorPrimitives.Dot<double>(_basis[j], columns[j]);
        }

        // The speeds are −c: columns are written without their sign.
        double[]? curve = SpeedSums.Integrate(_beats, Speed);
        if (curve is null)
            return null;
        double late = 0;
        double all = 0;
        for (int i = 0; i < _places.Length; i++)
        {
            late += _root[i] * _root[i] * (_times[i] - BeatTimes.At(curve, _places[i]));
            all += _root[i] * _root[i];
        }

        return [.. curve.Select(time => time + (late / all))];

        double Speed(double place)
        {
            double bent = 0;
            for (int b = 0; b < bends.Count; b++)
                bent += place <= bends[b].Knot ? 0 : coefficients[b + Steady] * (bends[b].Power == 1 ? 1 : place - bends[b].Knot);
            return -coefficients[1] - bent;
        }
    }

    private static void Subtract(double[] from, double[] what, double times) => TensorPrimitives.MultiplyAdd(what, -times, from, from);
}
