using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Feel;

/// <summary>
/// What "late" is late against: a stroke-weighted mean of some pieces' deviations at places that do not
/// swing, or the click itself (zero). Changing the reference moves every lay-back by the same amount.
/// </summary>
internal sealed class ReferencePoint
{
    /// <summary>
    /// A timekeeping hand spreading by more than this is not called steady. A virtuoso's hat spreads by about
    /// 8.7 ms at 96 bpm between strokes (Räsänen et al. 2015, as quoted), so 25 is loose for anyone.
    /// </summary>
    public const double SteadyWithinMs = 25;

    /// <summary>A timekeeping hand is heard in at least this share of the bars.</summary>
    private const double LeastShareOfBars = 0.75;

    private readonly FeelModel _model;
    private readonly KitPiece[] _pieces;

    /// <summary>The second track's mean, when that is the reference.</summary>
    private readonly RobustMean? _track;
    private readonly double _trackSpread;

    private ReferencePoint(FeelModel model, string name, RobustMean track, double spread)
        : this(model, FeelReference.SecondTrack, name, [], []) => (_track, _trackSpread) = (track, spread);

    private ReferencePoint(FeelModel model, FeelReference kind, string name, KitPiece[] pieces, IReadOnlyList<Doubt> doubts) =>
        (_model, Kind, Name, _pieces, Doubts) = (model, kind, name, pieces, doubts);

    public FeelReference Kind { get; }

    /// <summary>In words: "closed hat", "whole kit", "click".</summary>
    public string Name { get; }

    public IReadOnlyList<Doubt> Doubts { get; }

    /// <summary>Whether the piece is (part of) a reference of one hand.</summary>
    public bool Holds(KitPiece piece) => Kind is FeelReference.TimekeepingHand or FeelReference.Snare && _pieces.Contains(piece);

    public bool IsOnly(KitPiece piece) => _pieces.Length == 1 && _pieces[0] == piece;

    /// <summary>The reference's mean deviation without a block, seconds.</summary>
    public double At(int left)
    {
        if (Kind == FeelReference.Click)
            return 0;
        if (_track is not null)
            return _track.Without(left);
        double sum = 0, total = 0;
        foreach (KitPiece piece in _pieces)
        {
            double count = _model.Count(piece, PlaceRole.Start, left), mean = _model.Mean(piece, PlaceRole.Start, left);
            if (double.IsNaN(mean))
                continue;
            sum += count * mean;
            total += count;
        }

        return total > 0 ? sum / total : double.NaN;
    }

    /// <summary>The reference's variance if its strokes were independent, square seconds.</summary>
    public double LeastVariance
    {
        get
        {
            if (_track is not null)
                return _trackSpread * _trackSpread / _track.Count;
            double total = _pieces.Sum(piece => _model.Count(piece, PlaceRole.Start));
            return _pieces.Sum(piece => Math.Pow(_model.Count(piece, PlaceRole.Start) / total, 2) * _model.LeastVariance(piece, PlaceRole.Start));
        }
    }

    /// <summary>The block's part in the reference's variance, square seconds.</summary>
    public double ShareIn(int block)
    {
        if (Kind == FeelReference.Click)
            return 0;
        if (_track is not null)
            return _trackSpread * _trackSpread * _track.CountOf[block] / (_track.Count * _track.Count);
        double total = 0, sum = 0;
        foreach (KitPiece piece in _pieces)
        {
            double spread = _model.ScaleOf(piece, PlaceRole.Start);
            total += _model.Count(piece, PlaceRole.Start);
            sum += spread * spread * _model.CountIn(piece, PlaceRole.Start, block);
        }

        return total > 0 ? sum / (total * total) : 0;
    }

    /// <summary>
    /// Another track as the reference: robust mean of its deviations from the same pulse at places that do not swing in
    /// this passage, in the bars that this passage has, after this passage's slow curve.
    /// </summary>
    /// <exception cref="InputException">The track shares no such place with the passage.</exception>
    public static ReferencePoint Of(FeelModel model, Performance track, string name)
    {
        const int FewestShared = 3;
        StrokeTable table = model.Table;
        Pulse pulse = table.Performance.Pulse;
        var shared = new List<(double Deviation, double Weight, int Block)>();
        foreach ((Hit hit, BarPosition written, _) in track.PlacedHits())
        {
            if (hit.Confidence <= 0 || written.Beat > pulse.Meter.BeatsPerBar || model.RoleOf(table.Grid.RoleOf(written.Within)) != PlaceRole.Start || table.BlockAt(written.Bar, written.Beat) is not { } block)
                continue;
            double deviation = (hit.Time - pulse.TimeAt(written)).Value - model.CurveAt(pulse.BeatsFromFirst(written).ToDouble());
            shared.Add((deviation, hit.Confidence, block));
        }

        if (shared.Count < FewestShared || shared.Select(stroke => stroke.Block).Distinct().Count() < 2)
            throw new InputException($"{name} shares {(shared.Count == 0 ? "no place" : "too few places")} that do not swing with this passage; does it lie on the same pulse, with its strokes placed?");
        double[] late = [.. shared.Select(stroke => stroke.Deviation)];
        double spread = Math.Max(Spread.Around(late, [.. shared.Select(_ => 0)]), 0.0005);
        return new ReferencePoint(model, name, new RobustMean(late, [.. shared.Select(stroke => stroke.Weight)], [.. shared.Select(stroke => stroke.Block)], table.Blocks, spread), spread);
    }

    /// <exception cref="InputException">The reference asked for is not in this passage.</exception>
    public static ReferencePoint Choose(FeelModel model, FeelReference? asked)
    {
        StrokeTable table = model.Table;
        switch (asked)
        {
            case FeelReference.SecondTrack:
                throw new InputException("A second track is the reference, but none was given.");
            case FeelReference.Click when table.Performance.Pulse.Source != PulseSource.Click:
                throw new InputException("This passage has no click: its pulse was found in the drumming itself, and against that the whole kit can be neither late nor early.");
            case FeelReference.Click:
                return new ReferencePoint(model, FeelReference.Click, "click", [], []);
            case FeelReference.WholeKit:
                return WholeKit(model, []);
            case FeelReference.Snare:
                KitPiece[] snares = [.. Usable(model, KitPiece.Snare)];
                return snares.Length > 0
                    ? new ReferencePoint(model, FeelReference.Snare, Hand.Name(snares), snares, [])
                    : throw new InputException("The snare plays too few strokes at places that do not swing to be measured against; choose another reference.");
            default:
                break;
        }

        // The hand is on the hats or on the ride; where neither lasts through the passage it may have moved from one to the other.
        KitPiece[] hands = [.. table.Strokes.Where(stroke => Hand.KeepsTime(Hand.StreamOf(stroke.Piece)))
            .GroupBy(stroke => Hand.StreamOf(stroke.Piece)).OrderByDescending(hand => hand.Count()).ThenBy(hand => hand.Key).Select(hand => hand.Key)];
        string why = hands.Length == 0 ? "No hat or ride keeps time here" : "";
        foreach (KitPiece[] streams in hands.Select(hand => new[] { hand }).Append(hands).Where(streams => streams.Length > 0))
        {
            KitPiece[] pieces = [.. streams.SelectMany(hand => Usable(model, hand))];
            int bars = table.Strokes.Where(stroke => streams.Contains(Hand.StreamOf(stroke.Piece)) && model.RoleOf(stroke) == PlaceRole.Start).Select(stroke => stroke.Block).Distinct().Count();
            double spread = pieces.Length == 0 ? 0 : 1000 * pieces.Max(piece => model.ScaleOf(piece, PlaceRole.Start));
            string name = FeelWords.Listing(streams.Select(hand => NameOf(pieces, hand)));
            if (pieces.Length > 0 && bars >= LeastShareOfBars * table.Blocks && spread <= SteadyWithinMs)
                return new ReferencePoint(model, FeelReference.TimekeepingHand, name, pieces, []);
            if (why.Length == 0)
            {
                why = spread > SteadyWithinMs
                    ? FormattableString.Invariant($"The {name} spreads by {spread:0} ms")
                    : $"The {name} does not play on the beat through the passage";
            }
        }

        return asked == FeelReference.TimekeepingHand && hands.Length == 0
            ? throw new InputException("No hat or ride plays in this passage, so it cannot be the reference; choose the whole kit.")
            : WholeKit(model, [new ReferenceUnsteady(why)]);
    }

    private static string NameOf(KitPiece[] pieces, KitPiece hand)
    {
        KitPiece[] own = [.. pieces.Where(piece => Hand.StreamOf(piece) == hand)];
        return Hand.Name(own.Length > 0 ? own : [hand]);
    }

    private static IEnumerable<KitPiece> Usable(FeelModel model, KitPiece stream) =>
        model.Table.Pieces.Where(piece => Hand.StreamOf(piece) == stream && LayBack.Enough(model, piece, PlaceRole.Start));

    private static ReferencePoint WholeKit(FeelModel model, IReadOnlyList<Doubt> doubts)
    {
        KitPiece[] pieces = [.. model.Table.Pieces.Where(piece => model.StrokesOf(piece, PlaceRole.Start) > 0)];
        return pieces.Length > 0
            ? new ReferencePoint(model, FeelReference.WholeKit, "whole kit", pieces, doubts)
            : throw new InputException("No stroke of this passage falls on a place that does not swing; is the pulse half a beat off?");
    }
}
