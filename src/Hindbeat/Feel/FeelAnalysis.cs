using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Feel;

/// <summary>
/// The front door of the feel: a performance in, every figure with its interval and doubts out. First the 8ths
/// are judged, then the 16ths; places shown to be straight join the places that do not swing, and lay-back is
/// read there.
/// </summary>
public static class FeelAnalysis
{
    /// <param name="performance">Strokes with written places and the pulse they are measured against.</param>
    /// <param name="sound">How strongly something starts, moment by moment, for a second look at the swing; null without sound.</param>
    /// <param name="secondTrack">Another player on the same pulse as the reference; its strokes must be placed on it.</param>
    /// <exception cref="InputException">Nothing can be measured: no placed strokes, or a reference that is not there.</exception>
    /// <exception cref="ArgumentOutOfRangeException">Fewer than <see cref="FeelOptions.FewestResamples"/> resamples, or more than 100,000.</exception>
    public static FeelReport Measure(Performance performance, FeelOptions? options = null, StrengthCurve? sound = null, SecondTrack? secondTrack = null)
    {
        ArgumentNullException.ThrowIfNull(performance);
        options ??= new FeelOptions();
        if (options.Resamples is < FeelOptions.FewestResamples or > 100_000)
            throw new ArgumentOutOfRangeException(nameof(options), options.Resamples, $"Intervals need {FeelOptions.FewestResamples} to 100,000 resamples.");

        StrokeTable table = StrokeTable.From(performance);
        var resampling = new BarResampling(table.Blocks, options.Resamples, options.Seed);

        FeelModel model = FeelModel.Fit(table, eighthsAreStraight: false, sixteenthsAreStraight: false, withCurve: true);
        IReadOnlyList<SwingFigure> eighths = SwingRatio.Measure(model, resampling, SwingLevel.Eighth, eighthsSwing: false, options.Hearing);
        bool straightEighths = SurelyStraight(eighths), swungEighths = eighths.Count > 0 && eighths[0].Verdict == SwingVerdict.Swung;
        if (straightEighths)
            model = FeelModel.Fit(table, straightEighths, false, withCurve: true);
        IReadOnlyList<SwingFigure> sixteenths = SwingRatio.Measure(model, resampling, SwingLevel.Sixteenth, swungEighths, options.Hearing);
        bool straightSixteenths = SurelyStraight(sixteenths);
        if (straightSixteenths)
            model = FeelModel.Fit(table, straightEighths, straightSixteenths, withCurve: true);

        FeelModel against = options.Reference == FeelReference.Click
            ? FeelModel.Fit(table, straightEighths, straightSixteenths, withCurve: false)
            : model;
        ReferencePoint reference = secondTrack is null
            ? ReferencePoint.Choose(against, options.Reference)
            : ReferencePoint.Of(against, secondTrack.Performance, secondTrack.Name);
        IReadOnlyList<SwingFigure> swing = [.. eighths, .. sixteenths];
        if (sound is not null)
            swing = SwingFromStrength.Beside(swing, table, sound);
        IReadOnlyList<LayBackFigure> layBack = LayBack.Measure(against, resampling, reference, swing, options.Hearing);
        IReadOnlyList<LoosenessFigure> looseness = Looseness.Measure(model, resampling, options.Hearing);

        IReadOnlyList<SwingWindow> windows = SwingOverTime.Measure(performance, table, options);
        return new FeelReport(
            reference.Kind, reference.Name, swing, layBack, looseness, Touch.Measure(table, resampling),
            TempoDrift.Measure(model, resampling), DoubtsOf(performance, table, reference, layBack))
        {
            Places = Places.Measure(against, resampling, reference, options.Hearing),
            Together = Together.Measure(model, resampling),
            Flams = Flams.Measure(table, resampling),
            Memory = Memory.Measure(model, resampling),
            LongRange = LongRange.Measure(table),
            Openness = HatOpenness.Measure(table),
            LoudAndLate = LoudAndLate.Measure(model, resampling),
            Ghosts = GhostContrast.Measure(table, resampling),
            SwingOverTime = windows,
            SwingAgainstTempo = SwingOverTime.AgainstTempo(windows),
            Options = secondTrack is null ? options : options with { Reference = FeelReference.SecondTrack },
        };
    }

    /// <summary>Straight, and not even a slight swing is shown: only then may the off-beats stand in for places that do not swing.</summary>
    private static bool SurelyStraight(IReadOnlyList<SwingFigure> figures) =>
        figures.Count > 0 && figures[0].Verdict == SwingVerdict.Straight && figures[0].Ratio is { Low: <= 1, High: >= 1 };

    private static List<Doubt> DoubtsOf(Performance performance, StrokeTable table, ReferencePoint reference, IReadOnlyList<LayBackFigure> layBack)
    {
        const double SureEnough = 0.8;
        const double LeastLeftOut = 0.02;
        var doubts = new List<Doubt>();
        if (table.BlocksAreBeats)
            doubts.Add(new TooFewBars(table.Bars));
        if (performance.Pulse.Confidence < SureEnough)
            doubts.Add(new PulseUnsure(performance.Pulse.Confidence));
        int unplaced = performance.Hits.Count - performance.PlacedHits().Count() + table.Elsewhere;
        if (unplaced > LeastLeftOut * performance.Hits.Count)
            doubts.Add(new StrokesWithoutPlace(unplaced, performance.Hits.Count));
        doubts.AddRange(reference.Doubts);
        foreach (KitPiece piece in table.Pieces.Where(piece => layBack.All(figure => figure.Piece != piece)))
            doubts.Add(new TooFewStrokes(piece, table.Strokes.Count(stroke => stroke.Piece == piece)));
        return doubts;
    }
}
