using Hindbeat.Performances;

namespace Hindbeat.Feel;

/// <summary>
/// Random spread of a piece's timing: standard deviation around the mean of each written place after the slow
/// curve, σ² = Σ(t − place mean)² ÷ (n − places). Milliseconds. The habit of each place is taken out; its share
/// of the variance is told apart (up to 65 % of microtiming variance is repeated pattern: Hellmer and Madison
/// 2015, from memory).
/// </summary>
/// <remarks>
/// Strokes beyond 4 robust spreads of their place are strays and not counted. Where places are struck too
/// seldom (fewer than a third of the strokes are left over as evidence) the means of the groups of the model
/// are used instead and the habit share is not given. The interval is at least 1.96/√(2n) wide on the logarithm,
/// the textbook spread of a standard deviation from n independent normal values. Least data: <see cref="FewestEvidence"/> strokes beyond
/// those that fix the means. Interval by bar on the logarithm, so it cannot reach below zero.
/// </remarks>
public static class Looseness
{
    public const int FewestEvidence = 4;
    private const double StrayBeyond = 4.0;

    internal static IReadOnlyList<LoosenessFigure> Measure(FeelModel model, BarResampling resampling, HearingError? hearing)
    {
        var figures = new List<LoosenessFigure>();
        foreach (KitPiece piece in model.Table.Pieces)
        {
            if (One(model, resampling, piece, hearing) is { } figure)
                figures.Add(figure);
        }

        return figures;
    }

    private static LoosenessFigure? One(FeelModel model, BarResampling resampling, KitPiece piece, HearingError? hearing)
    {
        StrokeTable table = model.Table;
        int[] own = [.. Enumerable.Range(0, table.Strokes.Length).Where(i => table.Strokes[i].Piece == piece)];
        int places = own.Select(i => table.Strokes[i].Cell).Distinct().Count();
        int groups = own.Select(i => (int)model.RoleOf(table.Strokes[i])).Distinct().Count();
        bool byPlace = own.Length - places >= Math.Max(FewestEvidence, own.Length / 3);
        if (!byPlace && own.Length - groups < FewestEvidence)
            return null;

        Func<int, int> cellOf = byPlace ? i => table.Strokes[i].Cell : i => (int)model.RoleOf(table.Strokes[i]);
        double[] values = [.. own.Select(i => table.Strokes[i].Deviation - model.Curve[i])];
        int[] cells = [.. own.Select(cellOf)];
        bool[] kept = Spread.Keep(values, cells, StrayBeyond);
        var sums = new SumsByCell(table.Blocks);
        for (int k = 0; k < own.Length; k++)
        {
            if (kept[k])
                sums.Add(cells[k], table.Strokes[own[k]].Block, values[k]);
        }

        // The curve's knots were fitted to all strokes; each stroke paid its part.
        double last = table.Strokes.Max(stroke => stroke.Beats) - table.Strokes.Min(stroke => stroke.Beats);
        double curveShare = 1 - Math.Min(SlowCurve.KnotsFor(last) / (double)table.Strokes.Length, 0.5);
        double LogSpread(int left)
        {
            (double squares, double evidence) = sums.Within(left);
            return evidence > 0.5 && squares > 0 ? 0.5 * Math.Log(squares / (evidence * curveShare)) : double.NaN;
        }

        var doubts = new List<Doubt>();
        int strays = kept.Count(keep => !keep);
        if (strays > 0)
            doubts.Add(new StrayStrokes(piece, strays));
        if (Spread.GapOfTwoModes(values, cells, kept) is { } gap)
            doubts.Add(new SpreadHasTwoModes(piece, 1000 * gap));

        (double total, double evidenceOfAll) = sums.Within(-1);
        if (evidenceOfAll < 0.5)
            return null;
        Estimate interval;
        if (total <= 0)
            interval = new Estimate(0, 0, 0);
        else if (resampling.Interval(LogSpread, sums.EvidenceByBlock(), leastSpread: 1 / Math.Sqrt(2 * evidenceOfAll)) is { } sampled)
        {
            Estimate log = HearingError.Widen(sampled, hearing?.Factor ?? 1, 0);
            interval = new Estimate(1000 * Math.Exp(log.Value), 1000 * Math.Exp(log.Low), 1000 * Math.Exp(log.High));
        }
        else
            return null;
        return new LoosenessFigure(piece, interval, own.Length - strays, doubts)
        {
            HabitShare = byPlace ? HabitShareOf(model, own, kept, values, total / evidenceOfAll) : null,
        };
    }

    /// <summary>1 − (variance within places ÷ variance within the model's groups), at least 0.</summary>
    private static double? HabitShareOf(FeelModel model, int[] own, bool[] kept, double[] values, double within)
    {
        var coarse = new SumsByCell(1);
        for (int k = 0; k < own.Length; k++)
        {
            if (kept[k])
                coarse.Add((int)model.RoleOf(model.Table.Strokes[own[k]]), 0, values[k]);
        }

        (double squares, double evidence) = coarse.Within(-1);
        return squares > 0 && evidence > 0 ? Math.Max(0, 1 - (within / (squares / evidence))) : null;
    }
}
