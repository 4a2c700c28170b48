namespace Hindbeat.Feel;

/// <summary>
/// A piece at each place of the bar, so that a snare late on 2 and on time on 4 shows: mean deviation at the
/// place − reference, and the habit = that mean − what lay-back and swing of the piece foretell. Milliseconds,
/// positive = late. Habits of a piece's places average to about zero, weighted by their strokes.
/// </summary>
/// <remarks>Least data: <see cref="FewestStrokes"/> strokes in as many bars. The beat-2 snare is often late, beat 4 not: Frane 2017.</remarks>
public static class Places
{
    public const int FewestStrokes = 3;

    internal static IReadOnlyList<PlaceFigure> Measure(FeelModel model, BarResampling resampling, ReferencePoint reference, HearingError? hearing)
    {
        StrokeTable table = model.Table;
        var figures = new List<PlaceFigure>();
        foreach (int cell in InReadingOrder(table))
        {
            int[] own = [.. Enumerable.Range(0, table.Strokes.Length).Where(i => table.Strokes[i].Cell == cell)];
            int blocks = own.Select(i => table.Strokes[i].Block).Distinct().Count();
            if (own.Length < FewestStrokes || blocks < FewestStrokes)
                continue;
            Cell place = table.Cells[cell];
            var mean = new RobustMean(
                [.. own.Select(i => table.Strokes[i].Deviation - model.Curve[i])], [.. own.Select(i => table.Strokes[i].Weight)],
                [.. own.Select(i => table.Strokes[i].Block)], table.Blocks, model.ScaleOf(place.Piece, model.RoleOf(place.Role)));
            double beat = own.Average(i => table.Strokes[i].BeatLength);
            PlaceRole role = model.RoleOf(place.Role);
            double least = reference.IsOnly(place.Piece) ? 0 : Math.Sqrt(model.LeastVariance(place.Piece, mean.Count));
            if (resampling.Interval(left => mean.Without(left) - reference.At(left), mean.CountOf, leastSpread: least) is not { } interval)
                continue;
            Estimate deviation = HearingError.Widen(interval, hearing)!.Value;
            bool alone = own.Length == model.StrokesOf(place.Piece, role);
            Estimate? habit = alone ? null : HearingError.Widen(
                resampling.Interval(left => mean.Without(left) - model.Mean(place.Piece, role, left), mean.CountOf), hearing);
            figures.Add(new PlaceFigure(place.Piece, place.Beat, place.Within, LayBack.InMs(deviation),
                deviation.Value / beat, LayBack.InMs(habit ?? default), own.Length, role is PlaceRole.OffEighth or PlaceRole.OffSixteenth)
            {
                HabitKnown = habit is not null,
            });
        }

        return figures;
    }

    /// <summary>Cells by piece, then beat, then place within the beat.</summary>
    internal static IEnumerable<int> InReadingOrder(StrokeTable table) =>
        Enumerable.Range(0, table.Cells.Length).OrderBy(i => table.Cells[i].Piece).ThenBy(i => table.Cells[i].Beat).ThenBy(i => table.Cells[i].Within);
}
