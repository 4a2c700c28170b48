using Hindbeat.Performances;

namespace Hindbeat.Feel;

/// <summary>
/// How unevenly the pairs of a level are split: R = long : short = (m + d) ÷ (m − d) with m half the pair and
/// d how late the second stroke lies after its even place, both means over the passage. Dimensionless;
/// 1 straight, 2 triplet; below 1 the second stroke comes early.
/// </summary>
/// <remarks>
/// Formula: Câmara and Jensenius, Sensing Sound and Music, ch. 5. d is a piece's off-beats against the same
/// piece's pair starts, so its lay-back cancels, and off-beats whose neighbours are far still count.
/// A ratio of means, not a mean of ratios: that is biased upward (Jensen's inequality). The interval is
/// made for d and carried over to R. Least data: <see cref="FewestStrokes"/> off-beats and as many starts of one
/// piece, each in two bars.
/// </remarks>
public static class SwingRatio
{
    public const int FewestStrokes = 3;

    /// <summary>
    /// "Straight" is said when the whole interval lies within 1 : 1.1 and 1.1 : 1. At 90 bpm and 16ths 1.1 is
    /// 8 ms, a third of what listeners could tell inside a groove (24 to 26 ms, Câmara et al. 2025).
    /// </summary>
    public const double StraightWithin = 1.1;

    /// <summary>
    /// A ratio below this is not called swung however sure: a 5 ms onset bias between loud and soft strokes
    /// alone moves R by 0.03 (8ths at 90 bpm) to 0.07 (16ths).
    /// </summary>
    public const double SmallestCalledSwung = 1.04;

    /// <summary>0.84 = the normal distribution's 80 % point: with d this much beyond the interval's half width four in five passages show it.</summary>
    private const double PowerMargin = (1.959963984540054 + 0.8416212335729143) / 1.959963984540054;

    /// <summary>R from half a pair and the second stroke's delay (same unit). R(m, 0) = 1; needs |d| &lt; m.</summary>
    public static double FromDelay(double halfPair, double delay)
    {
        ArgumentOutOfRangeException.ThrowIfLessThanOrEqual(halfPair, 0);
        ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual(Math.Abs(delay), halfPair);
        return (halfPair + delay) / (halfPair - delay);
    }

    /// <summary>The inverse of <see cref="FromDelay"/>: d = m (R − 1) ÷ (R + 1).</summary>
    public static double ToDelay(double halfPair, double ratio)
    {
        ArgumentOutOfRangeException.ThrowIfLessThanOrEqual(ratio, 0);
        return halfPair * (ratio - 1) / (ratio + 1);
    }

    /// <summary>The long note's share of the pair, 0 to 1: p = R ÷ (1 + R).</summary>
    public static double ToShare(double ratio) => ratio / (1 + ratio);

    /// <summary>Figures of one level: all pieces together first, then hand by hand when more than one can tell.</summary>
    internal static IReadOnlyList<SwingFigure> Measure(FeelModel model, BarResampling resampling, SwingLevel level, bool eighthsSwing, HearingError? hearing)
    {
        PlaceRole off = level == SwingLevel.Eighth ? PlaceRole.OffEighth : PlaceRole.OffSixteenth;
        if (model.Table.Grid.PairOf(level) is not { } pair)
            return [];
        KitPiece[] playing = [.. model.Table.Pieces.Where(piece => model.StrokesOf(piece, off) > 0)];
        KitPiece[] telling = [.. playing.Where(piece => CanTell(model, piece, off))];
        if (playing.Length == 0)
            return [];
        if (telling.Length == 0)
            return Mixed(model, resampling, level, off, pair.ToDouble(), playing, hearing);

        var figures = new List<SwingFigure> { Figure(model, resampling, level, off, pair.ToDouble(), telling, eighthsSwing, hearing) };
        var hands = telling.GroupBy(Hand.StreamOf).ToList();
        if (hands.Count > 1)
            figures.AddRange(hands.Select(hand => Figure(model, resampling, level, off, pair.ToDouble(), [.. hand], eighthsSwing, hearing)));
        return figures;
    }

    private static bool CanTell(FeelModel model, KitPiece piece, PlaceRole off) =>
        model.StrokesOf(piece, off) >= FewestStrokes && model.BlocksOf(piece, off) >= 2
        && model.StrokesOf(piece, PlaceRole.Start) >= FewestStrokes && model.BlocksOf(piece, PlaceRole.Start) >= 2;

    private static SwingFigure Figure(
        FeelModel model, BarResampling resampling, SwingLevel level, PlaceRole off, double pair, KitPiece[] pieces, bool eighthsSwing, HearingError? hearing)
    {
        int strokes = pieces.Sum(piece => model.StrokesOf(piece, off));
        double half = 0.5 * pair * pieces.Sum(piece => model.Count(piece, off) * model.BeatLength(piece, off)) / pieces.Sum(piece => model.Count(piece, off));
        Estimate? delay = resampling.Interval(left => Delay(model, pieces, off, left), Shares(model, pieces, off), leastSpread: LeastSpread(model, pieces, off));
        var doubts = new List<Doubt>();
        if (eighthsSwing)
            doubts.Add(new EighthsSwingToo());
        return Finish(level, pieces, HearingError.Widen(delay, hearing), Delay(model, pieces, off, -1), half, strokes, doubts, identified: true);
    }

    /// <summary>Mean delay of the pieces' off-beats against their own starts, a piece weighing as its strokes can tell.</summary>
    private static double Delay(FeelModel model, KitPiece[] pieces, PlaceRole off, int left)
    {
        double sum = 0, total = 0;
        foreach (KitPiece piece in pieces)
        {
            double delay = model.Mean(piece, off, left) - model.Mean(piece, PlaceRole.Start, left);
            if (double.IsNaN(delay))
                continue;
            double weight = Weight(model, piece, off, left);
            sum += weight * delay;
            total += weight;
        }

        return total > 0 ? sum / total : double.NaN;
    }

    /// <summary>
    /// Inverse variance of a difference of two means: 1 ÷ (1/n + 1/k). Not divided by the piece's own spread:
    /// weights guessed from a few strokes made intervals of short passages too narrow (90 % instead of 95 %).
    /// </summary>
    private static double Weight(FeelModel model, KitPiece piece, PlaceRole off, int left)
    {
        double offs = model.Count(piece, off, left), starts = model.Count(piece, PlaceRole.Start, left);
        return offs * starts / (offs + starts);
    }

    private static double[] Shares(FeelModel model, KitPiece[] pieces, PlaceRole off)
    {
        double[] shares = new double[model.Table.Blocks];
        foreach (KitPiece piece in pieces)
        {
            double weight = Weight(model, piece, off, -1), offSpread = model.ScaleOf(piece, off), startSpread = model.ScaleOf(piece, PlaceRole.Start);
            double offs = model.Count(piece, off), starts = model.Count(piece, PlaceRole.Start);
            for (int b = 0; b < shares.Length; b++)
            {
                double off2 = offSpread * offSpread * model.CountIn(piece, off, b) / (offs * offs);
                double start2 = startSpread * startSpread * model.CountIn(piece, PlaceRole.Start, b) / (starts * starts);
                shares[b] += weight * weight * (off2 + start2);
            }
        }

        return shares;
    }

    private static double LeastSpread(FeelModel model, KitPiece[] pieces, PlaceRole off)
    {
        double variance = 0, total = 0;
        foreach (KitPiece piece in pieces)
        {
            double weight = Weight(model, piece, off, -1);
            variance += weight * weight * (model.LeastVariance(piece, off) + model.LeastVariance(piece, PlaceRole.Start));
            total += weight;
        }

        return Math.Sqrt(variance) / total;
    }

    /// <summary>No piece has both places: what is known is the off-beats' delay on the pulse, swing and lay-back in one.</summary>
    private static IReadOnlyList<SwingFigure> Mixed(
        FeelModel model, BarResampling resampling, SwingLevel level, PlaceRole off, double pair, KitPiece[] playing, HearingError? hearing)
    {
        KitPiece piece = playing.MaxBy(candidate => model.StrokesOf(candidate, off));
        int strokes = model.StrokesOf(piece, off);
        if (strokes < FewestStrokes || model.BlocksOf(piece, off) < 2)
            return [];
        double[] shares = new double[model.Table.Blocks];
        for (int b = 0; b < shares.Length; b++)
            shares[b] = model.CountIn(piece, off, b);
        double Sum(int left) => model.Mean(piece, off, left);
        var doubts = new List<Doubt> { new SwingAndLayBackMixed(piece, 1000 * Sum(-1), null) };
        return [Finish(level, [piece], HearingError.Widen(resampling.Interval(Sum, shares), hearing), Sum(-1), 0.5 * pair * model.BeatLength(piece, off), strokes, doubts, identified: false)];
    }

    private static SwingFigure Finish(
        SwingLevel level, KitPiece[] pieces, Estimate? interval, double delay, double half, int strokes, List<Doubt> doubts, bool identified)
    {
        // An off-beat a whole half pair late would be the next stroke; 0.95 keeps an absurd interval printable.
        double Held(double d) => Math.Clamp(d, -0.95 * half, 0.95 * half);
        Estimate d = interval ?? new Estimate(delay, -0.95 * half, 0.95 * half);
        if (interval is null)
            doubts.Add(new TooFewBarsForInterval("swing"));
        Estimate Map(Func<double, double> map) => new(map(Held(d.Value)), map(Held(d.Low)), map(Held(d.High)));

        Estimate ratio = Map(x => FromDelay(half, x));
        double smallest = Math.Max(FromDelay(half, Held(PowerMargin * d.HalfWidth)), SmallestCalledSwung);
        SwingVerdict verdict = !identified ? SwingVerdict.Undecided : Judge(ratio);
        if (identified && ratio.High < 1 && ratio.Value <= 1 / SmallestCalledSwung && verdict != SwingVerdict.Straight)
            doubts.Add(new OffBeatsEarly(Hand.Name(pieces), -1000 * d.Value));
        if (verdict == SwingVerdict.Undecided && identified)
            doubts.Add(new SwingUndecided(smallest));
        if (verdict == SwingVerdict.Swung && 1000 * d.Value < Audibility.SwingInGrooveMs)
            doubts.Add(new SwingBelowHearing(1000 * d.Value));
        return new SwingFigure(level, pieces, ratio, strokes, verdict, doubts)
        {
            SharePercent = Map(x => 100 * ToShare(FromDelay(half, x))),
            DelayMs = new Estimate(1000 * d.Value, 1000 * d.Low, 1000 * d.High),
            SmallestRatioShown = smallest,
        };
    }

    private static SwingVerdict Judge(Estimate ratio)
    {
        if (ratio.Low > 1 && ratio.Value >= SmallestCalledSwung)
            return SwingVerdict.Swung;
        return ratio.Low >= 1 / StraightWithin && ratio.High <= StraightWithin ? SwingVerdict.Straight : SwingVerdict.Undecided;
    }
}
