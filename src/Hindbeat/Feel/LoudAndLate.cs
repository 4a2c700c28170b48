using Hindbeat.Performances;

namespace Hindbeat.Feel;

/// <summary>Whether a piece's louder strokes come later.</summary>
/// <param name="MsPer10Db">Slope of timing over level at one and the same place, milliseconds for 10 dB more, positive = louder is later.</param>
public sealed record LoudAndLateFigure(KitPiece Piece, Estimate MsPer10Db, int Hits);

/// <summary>
/// Does loud mean late? Slope of deviation over level within written places: b = Σ(l − place mean)(t − place mean) ÷ Σ(l −
/// place mean)², strokes weighted by the model (strays out), times 10 dB. Within places, so that a backbeat louder and later
/// than a ghost elsewhere does not count as slope.
/// </summary>
/// <remarks>
/// Instructed laid-back strokes come out later and mostly louder: Danielsen, Waadeland, Sundt, Witek, JASA 138(4):2301–2316,
/// 2015 (read in abstract). Soft strokes are also found later by listening, which pulls the slope down. Least data:
/// <see cref="FewestHits"/> strokes beyond the means, whose levels spread by <see cref="LeastLevelSpreadDb"/> dB at their places.
/// </remarks>
public static class LoudAndLate
{
    public const int FewestHits = 12;
    public const double LeastLevelSpreadDb = 1;

    internal static IReadOnlyList<LoudAndLateFigure> Measure(FeelModel model, BarResampling resampling)
    {
        StrokeTable table = model.Table;
        var figures = new List<LoudAndLateFigure>();
        foreach (KitPiece piece in table.Pieces)
        {
            var sums = new Dictionary<int, Sums[]>();
            int hits = 0;
            double[] shares = new double[table.Blocks];
            for (int i = 0; i < table.Strokes.Length; i++)
            {
                Stroke stroke = table.Strokes[i];
                if (stroke.Piece != piece || model.Weights[i] <= 0)
                    continue;
                if (!sums.TryGetValue(stroke.Cell, out Sums[]? cell))
                    sums[stroke.Cell] = cell = new Sums[table.Blocks];
                // Around a typical level and time, so that squares keep their digits.
                cell[stroke.Block].Add(model.Weights[i], stroke.Level + 20, stroke.Deviation - model.Curve[i]);
                shares[stroke.Block] += model.Weights[i];
                hits++;
            }

            (double square, _, double evidence) = Within(sums, -1);
            if (evidence < FewestHits || square < evidence * LeastLevelSpreadDb * LeastLevelSpreadDb)
                continue;
            double Slope(int left)
            {
                (double squares, double products, _) = Within(sums, left);
                return squares > 0 ? 10_000 * products / squares : double.NaN;
            }

            if (resampling.Interval(Slope, shares, fitted: 1) is { } slope)
                figures.Add(new LoudAndLateFigure(piece, slope, hits));
        }

        return figures;
    }

    private static (double Squares, double Products, double Evidence) Within(Dictionary<int, Sums[]> cells, int left)
    {
        double squares = 0, products = 0, evidence = 0;
        foreach (Sums[] cell in cells.Values)
        {
            var all = default(Sums);
            for (int b = 0; b < cell.Length; b++)
            {
                if (b != left)
                    all.Add(cell[b]);
            }

            if (all.Weight <= 1)
                continue;
            squares += Math.Max(all.XX - (all.X * all.X / all.Weight), 0);
            products += all.XY - (all.X * all.Y / all.Weight);
            evidence += all.Weight - 1;
        }

        return (squares, products, evidence);
    }

    private struct Sums
    {
        public double Weight { get; private set; }
        public double X { get; private set; }
        public double Y { get; private set; }
        public double XX { get; private set; }
        public double XY { get; private set; }

        public void Add(double weight, double x, double y) =>
            (Weight, X, Y, XX, XY) = (Weight + weight, X + (weight * x), Y + (weight * y), XX + (weight * x * x), XY + (weight * x * y));

        public void Add(in Sums other) =>
            (Weight, X, Y, XX, XY) = (Weight + other.Weight, X + other.X, Y + other.Y, XX + other.XX, XY + other.XY);
    }
}
