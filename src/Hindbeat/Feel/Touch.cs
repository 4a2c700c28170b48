using Hindbeat.Performances;

namespace Hindbeat.Feel;

/// <summary>
/// How loud a piece is played at each place of the bar: mean level in dBFS, weighted by confidence, interval by
/// bar; and its accent, the same less the mean of all the piece's strokes. Least data: two strokes in two bars; single
/// strokes are left to the chart.
/// </summary>
public static class Touch
{
    internal static IReadOnlyList<TouchFigure> Measure(StrokeTable table, BarResampling resampling)
    {
        var figures = new List<TouchFigure>();
        var wholes = table.Pieces.ToDictionary(piece => piece, piece => new LevelSums(table, stroke => stroke.Piece == piece));
        foreach (int cell in Places.InReadingOrder(table))
        {
            var sums = new LevelSums(table, stroke => stroke.Cell == cell);
            Cell place = table.Cells[cell];
            if (sums.Hits < 2 || resampling.Interval(sums.Mean, sums.WeightOf) is not { } level)
                continue;
            LevelSums whole = wholes[place.Piece];
            bool alone = whole.Hits == sums.Hits;
            figures.Add(new TouchFigure(place.Piece, place.Beat, place.Within, level, sums.Hits)
            {
                Accent = alone ? null : resampling.Interval(left => sums.Mean(left) - whole.Mean(left), sums.WeightOf),
                Doubts = TwoLoudnesses(table, cell, place.Piece),
            });
        }

        return figures;
    }

    /// <summary>A ghost and a backbeat at one place: their mean describes neither.</summary>
    private static Doubt[] TwoLoudnesses(StrokeTable table, int cell, KitPiece piece)
    {
        double[] levels = [.. table.Strokes.Where(stroke => stroke.Cell == cell).Select(stroke => stroke.Level)];
        return LoudnessHeaps.CutOf(levels) is { } cut
            ? [new TwoLoudnessesAtOnePlace(piece, levels.Where(level => level <= cut).Average(), levels.Count(level => level <= cut), levels.Where(level => level > cut).Average(), levels.Count(level => level > cut))]
            : [];
    }

    /// <summary>Weighted sums of some strokes' levels by block.</summary>
    private sealed class LevelSums
    {
        private readonly double[] _weights, _sums;
        private readonly double _weight, _sum;

        public LevelSums(StrokeTable table, Func<Stroke, bool> chosen)
        {
            (_weights, _sums) = (new double[table.Blocks], new double[table.Blocks]);
            foreach (Stroke stroke in table.Strokes.Where(chosen))
            {
                Hits++;
                _weights[stroke.Block] += stroke.Weight;
                _sums[stroke.Block] += stroke.Weight * stroke.Level;
            }

            (_weight, _sum) = (_weights.Sum(), _sums.Sum());
        }

        public int Hits { get; }

        public double[] WeightOf => _weights;

        public double Mean(int left)
        {
            double n = left < 0 ? _weight : _weight - _weights[left];
            return n > 1e-9 ? (left < 0 ? _sum : _sum - _sums[left]) / n : double.NaN;
        }
    }
}
