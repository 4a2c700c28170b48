using Hindbeat.Performances;

namespace Hindbeat.Feel;

/// <summary>Whether slips of a steady hand last over many bars.</summary>
/// <param name="Exponent">Fluctuation exponent of its intervals: below ½ slips are made up for, ½ = intervals know nothing of each other, above they last.</param>
/// <param name="Intervals">How many intervals it rests on.</param>
public sealed record LongRangeFigure(KitPiece Stream, Estimate Exponent, int Intervals);

/// <summary>
/// Long-range exponent of a hand that plays on evenly: <see cref="Fluctuation.Exponent"/> of its intervals, a parabola over the
/// passage and the mean of each place taken out of the stroke times. Only from <see cref="Fluctuation.FewestValues"/>
/// intervals on, nine in ten of them one common step apart.
/// </summary>
/// <remarks>
/// Interval ± 1.96 standard errors, (0.3 + 3.2α − 1.15α²) ÷ √n: fitted to 150 to 400 simulated rows each of fractional Gaussian
/// noise of exponents 0.2 to 0.9 with 512, 1,024 and 2,048 values, where the spread was 0.9, 1.6, 2.0 and 2.2 over √n and the
/// bias below 0.02. It supposes one exponent at all lengths, which real playing need not have. Times are taken from the strokes,
/// not from the pulse, which follows slow wander and would hide it.
/// </remarks>
public static class LongRange
{
    private const double LeastSteady = 0.9;

    internal static IReadOnlyList<LongRangeFigure> Measure(StrokeTable table)
    {
        var figures = new List<LongRangeFigure>();
        foreach (KitPiece stream in table.Pieces.Select(Hand.StreamOf).Distinct().Order())
        {
            double[] intervals = Intervals(table, stream);
            if (intervals.Length < Fluctuation.FewestValues)
                continue;
            double exponent = Fluctuation.Exponent(intervals);
            if (double.IsNaN(exponent))
                continue;
            double half = StudentT.Normal975 * StandardError(exponent, intervals.Length);
            figures.Add(new LongRangeFigure(stream, new Estimate(exponent, exponent - half, exponent + half), intervals.Length));
        }

        return figures;
    }

    /// <summary>Standard error of an exponent from n values; exponents outside the simulated range by its nearer end.</summary>
    public static double StandardError(double exponent, int values)
    {
        double a = Math.Clamp(exponent, 0.1, 1.0);
        return (0.3 + (3.2 * a) - (1.15 * a * a)) / Math.Sqrt(values);
    }

    private static double[] Intervals(StrokeTable table, KitPiece stream)
    {
        SortedDictionary<long, int> places = StreamPlaces.LoudestByPlace(table, stream);
        long step = StreamPlaces.CommonStep(places);
        long[] at = [.. places.Keys];
        Stroke[] strokes = [.. places.Values.Select(i => table.Strokes[i])];
        if (strokes.Length <= Fluctuation.FewestValues)
            return [];
        double middle = 0.5 * (strokes[0].Beats + strokes[^1].Beats), start = strokes[0].Time;
        var curve = default(Quadratic);
        foreach (Stroke stroke in strokes)
            curve.Add(stroke.Beats - middle, stroke.Time - start, 1);
        if (curve.Solve() is not { } fit)
            return [];
        double[] errors = [.. strokes.Select(stroke => stroke.Time - start - fit.A - (fit.B * (stroke.Beats - middle)) - (fit.C * (stroke.Beats - middle) * (stroke.Beats - middle)))];
        // A place's mean over the whole passage: what remains of it is pattern, not wander.
        var mean = strokes.Select((stroke, i) => (stroke.Cell, Error: errors[i])).GroupBy(entry => entry.Cell).ToDictionary(cell => cell.Key, cell => cell.Average(entry => entry.Error));
        var intervals = new List<double>();
        for (int i = 1; i < strokes.Length; i++)
        {
            if (at[i] - at[i - 1] == step)
                intervals.Add(errors[i] - mean[strokes[i].Cell] - (errors[i - 1] - mean[strokes[i - 1].Cell]));
        }

        return intervals.Count >= LeastSteady * (strokes.Length - 1) ? [.. intervals] : [];
    }
}
