namespace Hindbeat.Feel;

/// <summary>
/// How loud a piece is played at each place of the bar: mean level in dBFS, weighted by confidence, interval by
/// bar. Least data: two strokes in two bars; single strokes are left to the chart.
/// </summary>
public static class Touch
{
    internal static IReadOnlyList<TouchFigure> Measure(StrokeTable table, BarResampling resampling)
    {
        var figures = new List<TouchFigure>();
        foreach (int cell in Places.InReadingOrder(table))
        {
            double[] weights = new double[table.Blocks], sums = new double[table.Blocks];
            int hits = 0;
            foreach (Stroke stroke in table.Strokes)
            {
                if (stroke.Cell != cell)
                    continue;
                hits++;
                weights[stroke.Block] += stroke.Weight;
                sums[stroke.Block] += stroke.Weight * stroke.Level;
            }

            double weight = weights.Sum(), sum = sums.Sum();
            double Mean(int left)
            {
                double n = left < 0 ? weight : weight - weights[left];
                return n > 1e-9 ? (left < 0 ? sum : sum - sums[left]) / n : double.NaN;
            }

            Cell place = table.Cells[cell];
            if (hits >= 2 && resampling.Interval(Mean, weights) is { } level)
                figures.Add(new TouchFigure(place.Piece, place.Beat, place.Within, level, hits));
        }

        return figures;
    }
}
