using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>
/// How far swing moves a written place, as a share of the beat: the second note of a pair moves from the
/// middle to R/(1+R) of the pair; places between move with their neighbours; triplets do not swing.
/// </summary>
/// <remarks>
/// In one groove the limbs share a subdivision, so every piece takes the whole kit's figure of the level
/// (the one on most pairs), unless the piece's own figure contradicts it: its interval leaves the
/// kit's ratio out. A level that was found straight is straight; a hair of swing measured there stays
/// with the habits. What a piece really did differently lands in its habits as well.
/// </remarks>
internal sealed class SwingOffsets
{
    private static readonly Fraction Quarter = new(1, 4);
    private static readonly Fraction Eighth = new(1, 8);

    private readonly Meter _meter;
    private readonly Func<SwingLevel, KitPiece, double> _ratio;
    private readonly bool _hasEighthPairs;

    private SwingOffsets(Meter meter, Func<SwingLevel, KitPiece, double> ratio)
    {
        _meter = meter;
        _ratio = ratio;
        // Beats of an eighth or a dotted quarter hold no pair of eighths that starts on a beat.
        _hasEighthPairs = !meter.IsCompound && meter.BeatLength >= Quarter;
    }

    /// <summary>The measured swing.</summary>
    public static SwingOffsets Measured(Meter meter, IReadOnlyList<SwingFigure> figures) =>
        new(meter, (level, piece) =>
        {
            SwingFigure? kit = figures.Where(figure => figure.Level == level).MaxBy(figure => figure.Pairs);
            SwingFigure? own = figures.FirstOrDefault(figure => figure.Level == level && figure.Pieces.Count == 1 && figure.Pieces[0] == piece);
            return kit is null ? 1 : own is not null && Contradicts(own.Ratio, kit.Ratio.Value) ? RatioOf(own) : RatioOf(kit);
        });

    /// <summary>A swing set by hand, the same for all pieces; other levels stay straight.</summary>
    public static SwingOffsets Set(Meter meter, SwingSetting setting) =>
        new(meter, (level, _) => level == setting.Level ? setting.Ratio : 1);

    private static bool Contradicts(Estimate own, double kit) => kit < own.Low || kit > own.High;

    private static double RatioOf(SwingFigure figure) =>
        figure.Verdict != SwingVerdict.Straight && figure.Ratio.Value is > 0 and < double.PositiveInfinity ? figure.Ratio.Value : 1;

    /// <summary>Shift in beats, positive = late.</summary>
    public double InBeats(BarPosition position, KitPiece piece)
    {
        Fraction fromBar = ((position.Beat - 1) * _meter.BeatLength) + (position.Within * _meter.BeatLength);
        if (!IsBinary(fromBar))
            return 0;
        double beatsPerWhole = 1 / _meter.BeatLength.ToDouble();
        double sixteenth = Push(SwingLevel.Sixteenth, piece) * Eighth.ToDouble();
        double shift = Bend(InPair(fromBar, Eighth), sixteenth);
        if (_hasEighthPairs)
            shift += Bend(InPair(fromBar, Quarter), Push(SwingLevel.Eighth, piece) * Quarter.ToDouble());
        return shift * beatsPerWhole;
    }

    /// <summary>Share of the pair that its second note moves: p − 1/2 with p = R/(1+R).</summary>
    private double Push(SwingLevel level, KitPiece piece)
    {
        double ratio = _ratio(level, piece);
        return (ratio / (1 + ratio)) - 0.5;
    }

    /// <summary>Nothing at the pair's ends, the whole push at its middle, a straight line between.</summary>
    private static double Bend(double inPair, double push) => push * (1 - Math.Abs((2 * inPair) - 1));

    private static double InPair(Fraction fromBar, Fraction pair)
    {
        Fraction pairs = fromBar / pair;
        return (pairs - new Fraction(pairs.Floor())).ToDouble();
    }

    private static bool IsBinary(Fraction place) => (place.Denominator & (place.Denominator - 1)) == 0;
}
