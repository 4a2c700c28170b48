using Hindbeat.Performances;

namespace Hindbeat.Feel;

/// <summary>
/// How far behind (or ahead of) the reference a piece lies: mean deviation of the piece at places that do not
/// swing − that of the reference. Milliseconds and share of a beat, positive = late.
/// </summary>
/// <remarks>
/// Only differences are known when the pulse was fitted to the drumming: its residuals sum to zero (Senn et
/// al., forty popular drum patterns, data readme, methods B and C). A piece that plays only at places that
/// swing gives the sum of swing and lay-back and is marked not identified.
/// Least data: <see cref="FewestStrokes"/> strokes in two bars.
/// </remarks>
public static class LayBack
{
    public const int FewestStrokes = 3;

    /// <summary>Share of a beat, percent: 100 · ms ÷ beat. 10 ms is 1.5 % at 90 bpm and 2.0 % at 120.</summary>
    public static double PercentOfBeat(double milliseconds, double beatsPerMinute) => 100 * milliseconds * beatsPerMinute / 60_000;

    internal static IReadOnlyList<LayBackFigure> Measure(FeelModel model, BarResampling resampling, ReferencePoint reference, IReadOnlyList<SwingFigure> swing, HearingError? hearing)
    {
        var figures = new List<LayBackFigure>();
        foreach (KitPiece piece in model.Table.Pieces)
        {
            if (One(model, resampling, reference, swing, piece, hearing) is { } figure)
                figures.Add(figure);
        }

        return figures;
    }

    private static LayBackFigure? One(FeelModel model, BarResampling resampling, ReferencePoint reference, IReadOnlyList<SwingFigure> swing, KitPiece piece, HearingError? hearing)
    {
        if (Enough(model, piece, PlaceRole.Start))
        {
            bool itself = reference.IsOnly(piece);
            Estimate? interval = itself ? new Estimate(0, 0, 0) : Between(model, resampling, reference, piece, PlaceRole.Start, hearing);
            if (interval is not { } found)
                return null;
            List<Doubt> doubts = reference.Holds(piece) ? [new IsTheReference(piece)] : [];
            return new LayBackFigure(piece, InMs(found), found.Value / model.BeatLength(piece, PlaceRole.Start),
                model.StrokesOf(piece, PlaceRole.Start), Identified: !reference.Holds(piece), doubts);
        }

        PlaceRole off = model.StrokesOf(piece, PlaceRole.OffSixteenth) >= model.StrokesOf(piece, PlaceRole.OffEighth) ? PlaceRole.OffSixteenth : PlaceRole.OffEighth;
        if (!Enough(model, piece, off) || Between(model, resampling, reference, piece, off, hearing) is not { } sum)
            return null;
        SwingLevel level = off == PlaceRole.OffEighth ? SwingLevel.Eighth : SwingLevel.Sixteenth;
        SwingFigure? others = swing.FirstOrDefault(figure => figure.Level == level && !figure.Pieces.Contains(piece));
        double? rest = others is null ? null : (1000 * sum.Value) - others.DelayMs.Value;
        return new LayBackFigure(piece, InMs(sum), sum.Value / model.BeatLength(piece, off),
            model.StrokesOf(piece, off), Identified: false, [new SwingAndLayBackMixed(piece, 1000 * sum.Value, rest)]);
    }

    internal static bool Enough(FeelModel model, KitPiece piece, PlaceRole role) =>
        model.StrokesOf(piece, role) >= FewestStrokes && model.BlocksOf(piece, role) >= 2;

    internal static Estimate InMs(Estimate seconds) => new(1000 * seconds.Value, 1000 * seconds.Low, 1000 * seconds.High);

    private static Estimate? Between(FeelModel model, BarResampling resampling, ReferencePoint reference, KitPiece piece, PlaceRole role, HearingError? hearing)
    {
        double[] shares = new double[model.Table.Blocks];
        double count = model.Count(piece, role), spread = model.ScaleOf(piece, role);
        for (int b = 0; b < shares.Length; b++)
            shares[b] = (spread * spread * model.CountIn(piece, role, b) / (count * count)) + reference.ShareIn(b);
        // Against the whole kit the piece is part of what it is measured against; then only the bars speak.
        double least = reference.Kind == FeelReference.WholeKit ? 0 : Math.Sqrt(model.LeastVariance(piece, role) + reference.LeastVariance);
        Estimate? interval = resampling.Interval(left => model.Mean(piece, role, left) - reference.At(left), shares, leastSpread: least);
        return HearingError.Widen(interval, hearing);
    }
}
