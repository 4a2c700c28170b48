using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Takes;

/// <summary>
/// How much later a piece comes in the take than in the passage, and how much more it swings, stroke against stroke: what a drummer does
/// at one place of the bar is in both and drops out, so the difference is known far better than from two figures apart.
/// </summary>
/// <remarks>
/// D = mean(d of the piece) − mean(d of the reference), d = the take's deviation − the passage's at one written stroke, each in its own beats and told in ms at the
/// passage's tempo (a slowed recording slows its deviations too), at places that do not swing. Where 8ths swing the 16ths between them are moved, too, and no such places. Swing: Δ = mean(d at the off-beats) − mean(d of the same piece at places that do not swing), in beats, added to the passage's own
/// delay. Interval: jackknife over the passage's bars (<see cref="BarSums"/>; a bar and all its rounds is one block, since its rounds share the
/// passage's strokes), Student's t with one degree less than bars.
/// </remarks>
internal sealed class PairedLateness
{
    /// <summary>Fewer pairs of a piece, or bars, say nothing.</summary>
    private const int FewestPairs = 6, FewestBars = 3;

    /// <summary>No interval is finer than this, ms: a tick of an electronic kit's MIDI is about a millisecond long.</summary>
    private const double FinestMs = 0.6;

    /// <param name="Late">The take's deviation − the passage's, each in its own beats.</param>
    private readonly record struct Pair(KitPiece Piece, int Bar, int Beat, Fraction Within, bool Swings, double Late);

    private readonly Pair[] _all;
    private readonly Pair[] _straight;
    private readonly int[] _bars;
    private readonly HashSet<KitPiece> _reference;
    private readonly PlaceGrid _grid;
    private readonly HearingError? _hearing;
    private readonly double _beatMs;

    public PairedLateness(AlignedTake take, Performance passage, FeelReport original)
    {
        // A place struck too seldom to be listed may swing for all one knows.
        var places = original.Places.ToDictionary(place => (place.Piece, place.Beat, place.Within), place => place.Swings);
        double passageBeat = passage.Pulse.MeanTempo.Beat.Value, takeBeat = take.Performance.Pulse.MeanTempo.Beat.Value;
        _all = [.. take.Pairs.Where(pair => !pair.OnOtherPiece && places.ContainsKey(Key(pair.Reference))).Select(pair =>
        {
            BarPosition place = pair.Reference.Position!.Value;
            double own = passage.Pulse.DeviationOf(pair.Reference)!.Value.Value, played = own + pair.Later.Value;
            return new Pair(pair.Reference.Piece, place.Bar, place.Beat, place.Within, places[Key(pair.Reference)], (played / takeBeat) - (own / passageBeat));
        })];
        _grid = new PlaceGrid(passage.Meter);
        bool eighthsSwing = original.Swing.Any(figure => figure.Level == SwingLevel.Eighth && figure.Verdict == SwingVerdict.Swung);
        _bars = [.. _all.Select(one => one.Bar).Distinct().Order()];
        _reference = ReferencePieces(original);
        _hearing = original.Options.Hearing;
        _beatMs = 1000 * passageBeat;
        Pair[] starts = [.. _all.Where(pair => !pair.Swings && _grid.RoleOf(pair.Within) == PlaceRole.Start)];
        // Off-beats that are straight in the passage are moved where the take swings them.
        HashSet<PlaceRole> moved = [.. new[] { PlaceRole.OffEighth, PlaceRole.OffSixteenth }.Where(off => IsMoved(off, starts))];
        _straight = eighthsSwing ? starts : [.. _all.Where(pair => !pair.Swings && !moved.Contains(_grid.RoleOf(pair.Within)))];
    }

    /// <summary>The pieces that a report measures against.</summary>
    public static HashSet<KitPiece> ReferencePieces(FeelReport report) => report.Reference == FeelReference.WholeKit || report.Reference == FeelReference.Click
        ? [.. KitPieces.All]
        : [.. report.LayBack.Where(figure => figure.Doubts.OfType<IsTheReference>().Any()).Select(figure => figure.Piece)];

    /// <summary>How much later than in the passage the reference itself comes, each against its own pulse, in beats; null without a stroke of it.</summary>
    public double? OfReference => _straight.Where(one => _reference.Contains(one.Piece)).Select(one => (double?)one.Late).Average();

    /// <summary>A piece's lateness against the reference, take − passage, ms; null when too little is there.</summary>
    /// <param name="alsoBetweenSwungEighths">Whether 16ths between swung 8ths may count as places that do not swing: only where the take swings them as the passage does.</param>
    public Estimate? Of(KitPiece piece, bool alsoBetweenSwungEighths) =>
        Between(_straight, one => one.Piece == piece, one => _reference.Contains(one.Piece))
        ?? (alsoBetweenSwungEighths ? Between([.. _all.Where(one => !one.Swings)], one => one.Piece == piece, one => _reference.Contains(one.Piece)) : null);

    /// <summary>What a piece does at one place beyond what it does at the others, take − passage, ms; null when too little is there.</summary>
    public Estimate? At(KitPiece piece, int beat, Fraction within)
    {
        bool IsAt(Pair one) => one.Beat == beat && one.Within == within;
        return Between(_straight, one => one.Piece == piece && IsAt(one), one => one.Piece == piece && !IsAt(one));
    }

    /// <summary>Swing ratio, take − passage, and how much later the off-beats come for it, ms; null when too little is there.</summary>
    /// <param name="figure">The passage's.</param>
    public (Estimate Ratio, double LaterMs)? Of(SwingFigure figure)
    {
        if (_grid.PairOf(figure.Level) is not { } pair)
            return null;
        PlaceRole off = figure.Level == SwingLevel.Eighth ? PlaceRole.OffEighth : PlaceRole.OffSixteenth;
        if (Moved(figure.Pieces, off, _straight) is not var (more, side))
            return null;
        double half = pair.ToDouble() / 2, most = 0.95 * half;
        double own = Math.Clamp(SwingRatio.ToDelay(half, figure.Ratio.Value), -most, most);
        double ratio = SwingRatio.FromDelay(half, own), value = Ratio(own + more) - ratio;
        // What is not known of the passage's own swing bends the way from delay to ratio.
        double ownHalf = Math.Max(0, (SwingRatio.ToDelay(half, figure.Ratio.High) - SwingRatio.ToDelay(half, figure.Ratio.Low)) / 2), slope = Slope(own + more) - Slope(own);
        double down = Math.Sqrt(Math.Pow(Ratio(own + more) - Ratio(own + more - side), 2) + Math.Pow(slope * ownHalf, 2));
        double up = Math.Sqrt(Math.Pow(Ratio(own + more + side) - Ratio(own + more), 2) + Math.Pow(slope * ownHalf, 2));
        return (new Estimate(value, value - down, value + up), more * _beatMs);

        double Ratio(double delay) => SwingRatio.FromDelay(half, Math.Clamp(delay, -most, most));
        double Slope(double delay) => 2 * half / Math.Pow(half - Math.Clamp(delay, -most, most), 2);
    }

    private bool IsMoved(PlaceRole off, Pair[] starts) =>
        Moved([.. _all.Where(pair => _grid.RoleOf(pair.Within) == off).Select(pair => pair.Piece).Distinct()], off, starts) is var (more, side) && Math.Abs(more) > side;

    /// <summary>How much more than in the passage the pieces' off-beats come after their own strokes at straight places, and half its interval, beats; null when too little is there.</summary>
    private (double More, double Side)? Moved(IReadOnlyList<KitPiece> playing, PlaceRole off, Pair[] straight)
    {
        var pieces = playing.Select(piece => (
            Off: Sums(_all.Where(one => one.Piece == piece && _grid.RoleOf(one.Within) == off), one => one.Late),
            Start: Sums(straight.Where(one => one.Piece == piece && _grid.RoleOf(one.Within) != off), one => one.Late))).ToArray();
        if (pieces.Sum(one => one.Start.Count > 0 ? one.Off.Count : 0) < FewestPairs || pieces.Max(one => one.Off.Bars) < FewestBars)
            return null;
        double error = BarSums.Jackknife(_bars.Length, Delay);
        return (Delay(-1), Half(StudentT.Quantile975(Math.Max(2, pieces.Max(one => one.Off.Bars) - 1)) * error * _beatMs) / _beatMs);

        double Delay(int without)
        {
            double sum = 0, total = 0;
            foreach ((BarSums offs, BarSums starts) in pieces)
            {
                double n = offs.CountWithout(without), k = starts.CountWithout(without);
                if (n == 0 || k == 0)
                    continue;
                sum += n * k / (n + k) * (offs.Mean(without) - starts.Mean(without));
                total += n * k / (n + k);
            }

            return total > 0 ? sum / total : 0;
        }
    }

    private static (KitPiece Piece, int Beat, Fraction Within) Key(Hit hit) => (hit.Piece, hit.Position!.Value.Beat, hit.Position!.Value.Within);

    private BarSums Sums(IEnumerable<Pair> pairs, Func<Pair, double> value) => new(_bars, pairs.Select(one => (one.Bar, value(one))));

    private Estimate? Between(Pair[] straight, Func<Pair, bool> these, Func<Pair, bool> those)
    {
        BarSums first = Sums(straight.Where(these), one => one.Late), second = Sums(straight.Where(those), one => one.Late);
        if (first.Count < FewestPairs || second.Count < FewestPairs || first.Bars < FewestBars)
            return null;
        double value = _beatMs * (first.Mean(-1) - second.Mean(-1));
        double error = _beatMs * BarSums.Jackknife(_bars.Length, bar => first.Mean(bar) - second.Mean(bar));
        double half = Half(StudentT.Quantile975(Math.Max(2, first.Bars - 1)) * error);
        return new Estimate(value, value - half, value + half);
    }

    /// <summary>Half an interval with what ticks, and hearing passage and take, add to it, ms.</summary>
    private double Half(double sampled)
    {
        double factor = _hearing?.Factor ?? 1, heard = _hearing is null ? 0 : StudentT.Normal975 * Math.Sqrt(2) * _hearing.ErrorMs;
        return Math.Sqrt((factor * factor * sampled * sampled) + (FinestMs * FinestMs) + (heard * heard));
    }
}
