using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Takes;

/// <summary>One piece at one place of the bar, in both.</summary>
public readonly record struct SlotDifference(KitPiece Piece, int Beat, Fraction Within, Estimate Reference, Estimate Take, int Strokes);

/// <summary>A take beside the passage it copies.</summary>
/// <param name="Reported">The differences that chance alone would hardly show, clearest first: see <see cref="TakeComparison"/>.</param>
/// <param name="AgainstClick">How late the whole kit is against the click, the known delay taken off; null without a click or a known delay.</param>
/// <param name="Advice">What to work on, most telling first; empty when nothing stands out.</param>
public sealed record TakeComparisonResult(
    AlignedTake Take,
    FeelReport Reference,
    FeelReport Played,
    IReadOnlyList<FeelDifference> Differences,
    IReadOnlyList<FeelDifference> Reported,
    IReadOnlyList<SlotDifference> Slots,
    ClickLateness? AgainstClick,
    IReadOnlyList<TakeAdvice> Advice,
    IReadOnlyList<Doubt> Doubts);

/// <summary>
/// Compares a take with its passage figure by figure. Some thirty figures are compared at once, so one in twenty would
/// differ by chance; those reported are chosen so that in at most one comparison of twenty anything at all is reported wrongly.
/// </summary>
/// <remarks>
/// Holm's step-down procedure over the figures of <see cref="FeelComparison"/> (Scandinavian Journal of Statistics 6:65–70, 1979; stated from
/// memory). A difference's tail probability is read from its interval by Student's t with one degree of freedom less than the
/// passage has bars, since intervals come from resampling bars.
/// </remarks>
public static class TakeComparison
{
    /// <summary>Chance that anything is reported where nothing differs.</summary>
    public const double FalseReports = 0.05;

    /// <summary>What sums in another order differ by is no difference, in any unit.</summary>
    private const double Rounding = 1e-9;

    /// <summary>A spread or a flam's width from fewer strokes is not compared.</summary>
    private const int FewestStrokes = 12;

    /// <summary>Options for a take, or a passage, whose strokes were heard: they are timed less well than an electronic kit's.</summary>
    public static FeelOptions OptionsFor(bool heard) => new() { Hearing = heard ? HearingError.Measured : null };

    public static TakeComparisonResult Of(Performance reference, AlignedTake take, FeelOptions? options = null, Latency? latency = null)
    {
        ArgumentNullException.ThrowIfNull(reference);
        ArgumentNullException.ThrowIfNull(take);
        options ??= new FeelOptions();
        FeelReport original = FeelAnalysis.Measure(reference, options);
        FeelReport played = Named(Measured(take.Performance, original, options), original);
        var lateness = new PairedLateness(take, reference, original);
        if (played.ReferenceName != original.ReferenceName && lateness.OfReference is null)
        {
            // What the passage is measured against is not played in the take: only the whole kit is in both.
            FeelOptions whole = options with { Reference = FeelReference.WholeKit };
            (original, played) = (FeelAnalysis.Measure(reference, whole), FeelAnalysis.Measure(take.Performance, whole));
            lateness = new PairedLateness(take, reference, original);
        }

        FeelComparisonResult comparison = FeelComparison.Between(original, played);
        var spread = new PairedSpread(take, reference);
        var touch = new PairedTouch(take);
        IEnumerable<FeelDifference> layBack = comparison.Doubts.OfType<DifferentReferences>().Any() ? LayBacks(lateness, original) : [];
        FeelDifference[] compared = [.. layBack, .. comparison.Differences.Where(one => IsCompared(one, original, played)).Select(one => Paired(one, lateness, spread, touch, original)).OfType<FeelDifference>()];
        IReadOnlyList<FeelDifference> reported = Sure(compared, BarsOf(reference) - 1);
        ClickLateness? againstClick = AgainstClick(take, latency);
        List<Doubt> doubts = [.. take.Doubts];
        if (take.Performance.Pulse.Source == PulseSource.Click && latency is null)
            doubts.Add(new LatencyUnknown());
        return new TakeComparisonResult(
            take, original, played, compared, reported, [.. Slots(original, played)], againstClick,
            TakeAdvice.Of(take, original, played, reported), doubts);
    }

    /// <summary>Holm's choice: the clearest difference must be clear among all, the next among the rest, and so on.</summary>
    /// <param name="degrees">Degrees of freedom of the intervals.</param>
    internal static IReadOnlyList<FeelDifference> Sure(IReadOnlyList<FeelDifference> differences, double degrees) =>
    [
        // Half of the chance for the few figures of whole pieces, half for the many of single places, so that many places do not drown them.
        .. Sure(differences.Where(one => !one.Kind.IsDetailed), degrees, FalseReports / 2),
        .. Sure(differences.Where(one => one.Kind.IsDetailed), degrees, FalseReports / 2),
    ];

    private static List<FeelDifference> Sure(IEnumerable<FeelDifference> differences, double degrees, double chance)
    {
        double free = Math.Max(2, degrees);
        (FeelDifference Difference, double Tail)[] ordered = [.. differences.Select(one => (one, Tail(one.Difference, free))).OrderBy(pair => pair.Item2)];
        var sure = new List<FeelDifference>();
        for (int i = 0; i < ordered.Length && ordered[i].Tail <= chance / (ordered.Length - i); i++)
            sure.Add(ordered[i].Difference);
        return sure;
    }

    /// <summary>
    /// Places hold lay-back and swing once more, windows of bars and stroke-to-stroke figures are not a take's business; a spread or a
    /// flam's width from a handful of strokes has an interval that is no better than its shape.
    /// </summary>
    private static bool IsCompared(FeelDifference one, FeelReport original, FeelReport played)
    {
        int Fewest(Func<FeelReport, int> strokes) => Math.Min(strokes(original), strokes(played));
        if (one.Kind == FeelFigures.Flams)
            return Fewest(report => report.Flams.Where(figure => figure.Piece.Name() == one.Subject).Sum(figure => figure.Flams)) >= FewestStrokes;
        if (one.Kind == FeelFigures.Looseness)
            return Fewest(report => report.Looseness.Where(figure => figure.Piece.Name() == one.Subject).Sum(figure => figure.Hits)) >= FewestStrokes;
        return one.Kind == FeelFigures.Swing || one.Kind == FeelFigures.LayBack || one.Kind == FeelFigures.Habit
            || one.Kind == FeelFigures.Accent || one.Kind == FeelFigures.Ghosts || one.Kind == FeelFigures.Openness;
    }

    /// <summary>Swing, lateness, spread and accents are compared stroke against stroke; where there are too few for that, nothing is said.</summary>
    private static FeelDifference? Paired(FeelDifference one, PairedLateness lateness, PairedSpread spread, PairedTouch touch, FeelReport original)
    {
        if (one.Kind == FeelFigures.Looseness)
            return spread.Of(PieceOf(one.Subject)) is { } looser ? one with { Difference = new Estimate(one.First.Value * looser.Value, one.First.Value * looser.Low, one.First.Value * looser.High) } : null;
        if (one.Kind == FeelFigures.Accent)
            return original.Touch.FirstOrDefault(place => SubjectOf(place.Piece, place.Beat, place.Within) == one.Subject) is { } accent && touch.At(accent.Piece, accent.Beat, accent.Within) is { } louder ? one with { Difference = louder, HeardFromTimes = Math.Abs(louder.Value) } : null;
        if (one.Kind == FeelFigures.Swing)
        {
            SwingFigure figure = FeelComparison.Whole(original).First(swing => FeelFigures.LevelName(swing.Level) == one.Subject);
            return lateness.Of(figure) is var (more, laterMs) ? one with { Difference = more, HeardFromTimes = Math.Abs(laterMs) / Audibility.SwingInGrooveMs } : null;
        }

        if (one.Kind != FeelFigures.LayBack && one.Kind != FeelFigures.Habit)
            return one;
        Estimate? later = one.Kind == FeelFigures.LayBack ? lateness.Of(PieceOf(one.Subject), alsoBetweenSwungEighths: SwingsAlike(lateness, original))
            : original.Places.FirstOrDefault(place => SubjectOf(place) == one.Subject) is { } slot ? lateness.At(slot.Piece, slot.Beat, slot.Within)
            : null;
        return later is { } known ? one with { Difference = known, HeardFromTimes = Math.Abs(known.Value) / Audibility.AsynchronyInGrooveMs } : null;
    }

    /// <summary>Where another hand keeps time in the take: against the passage's hand in both, the take's value from the passage's and the difference.</summary>
    private static IEnumerable<FeelDifference> LayBacks(PairedLateness lateness, FeelReport original)
    {
        foreach (FeelLine line in FeelFigures.LayBack.Lines(original).Where(line => line.Known))
        {
            if (lateness.Of(PieceOf(line.Subject), SwingsAlike(lateness, original)) is not { } later)
                continue;
            double value = line.Value.Value + later.Value, half = Math.Sqrt((line.Value.HalfWidth * line.Value.HalfWidth) + (later.HalfWidth * later.HalfWidth));
            yield return new FeelDifference(FeelFigures.LayBack, line.Subject, line.Value, new Estimate(value, value - half, value + half), later, Math.Abs(later.Value) / Audibility.AsynchronyInGrooveMs, "");
        }
    }

    private static bool SwingsAlike(PairedLateness lateness, FeelReport original) =>
        FeelComparison.Whole(original).Select(lateness.Of).All(more => more is not var (ratio, _) || (ratio.Low <= 0 && ratio.High >= 0));

    private static KitPiece PieceOf(string name) => KitPieces.All.First(piece => piece.Name() == name);

    private static string SubjectOf(PlaceFigure place) => SubjectOf(place.Piece, place.Beat, place.Within);

    /// <summary>How figures of a place name it.</summary>
    internal static string SubjectOf(KitPiece piece, int beat, Fraction within) => $"{piece.Name()}, {FeelFigures.Count(beat, within)}";

    private static double Tail(Estimate difference, double degrees)
    {
        double side = difference.Value > 0 ? difference.Value - difference.Low : difference.High - difference.Value;
        if (Math.Abs(difference.Value) < Rounding)
            return 1;
        if (side <= 0)
            return 0;
        return StudentT.TwoSidedTail(Math.Abs(difference.Value) * StudentT.Quantile975(degrees) / side, degrees);
    }

    private static int BarsOf(Performance performance) => performance.PlacedHits().Select(placed => placed.Position.Bar).Distinct().Count();

    private static FeelReport Measured(Performance take, FeelReport original, FeelOptions options)
    {
        try
        {
            return FeelAnalysis.Measure(take, options with { Reference = original.Reference });
        }
        catch (InputException)
        {
            return FeelAnalysis.Measure(take, options with { Reference = FeelReference.WholeKit });
        }
    }

    /// <summary>A hand that strikes the open hat often enough to be counted in only one of the two is one reference all the same.</summary>
    private static FeelReport Named(FeelReport played, FeelReport original)
    {
        static HashSet<KitPiece> Streams(FeelReport report) => [.. PairedLateness.ReferencePieces(report).Select(Hand.StreamOf)];
        return played.Reference == original.Reference && Streams(played).SetEquals(Streams(original)) ? played with { ReferenceName = original.ReferenceName } : played;
    }

    private static IEnumerable<SlotDifference> Slots(FeelReport original, FeelReport played)
    {
        var others = played.Places.ToDictionary(place => (place.Piece, place.Beat, place.Within));
        foreach (PlaceFigure place in original.Places)
        {
            if (others.TryGetValue((place.Piece, place.Beat, place.Within), out PlaceFigure? other))
                yield return new SlotDifference(place.Piece, place.Beat, place.Within, place.Milliseconds, other.Milliseconds, other.Hits);
        }
    }

    private static ClickLateness? AgainstClick(AlignedTake take, Latency? latency)
    {
        if (take.Performance.Pulse.Source != PulseSource.Click || latency is null || take.Pairs.Count < 2)
            return null;
        // Strokes of one bar go together, so bars are what is counted.
        (double Late, int Strokes)[] bars = [.. take.Performance.PlacedHits().GroupBy(placed => placed.Position.Bar)
            .Select(bar => (bar.Average(placed => placed.Deviation.Milliseconds), bar.Count()))];
        int all = bars.Sum(bar => bar.Strokes);
        double mean = bars.Sum(bar => bar.Late * bar.Strokes) / all;
        if (bars.Length < 2)
            return null;
        double squares = bars.Sum(bar => Math.Pow((double)bar.Strokes / all * (bar.Late - mean), 2));
        double own = StudentT.Quantile975(bars.Length - 1) * Math.Sqrt(squares * bars.Length / (bars.Length - 1));
        double half = Math.Sqrt((own * own) + (latency.Uncertainty.Milliseconds * latency.Uncertainty.Milliseconds));
        double value = mean - latency.Delay.Milliseconds;
        return new ClickLateness(new Estimate(value, value - half, value + half), latency.Delay.Milliseconds, latency.Uncertainty.Milliseconds, latency.OfKit);
    }
}

/// <summary>Without a known delay nothing can be said against the click.</summary>
public sealed record LatencyUnknown : Doubt
{
    public override string Text =>
        "How far the take lies from the click cannot be told, since its delay (the recording's, or an electronic kit's own from stroke to MIDI) is not known; pieces against each other do not need it.";
}
