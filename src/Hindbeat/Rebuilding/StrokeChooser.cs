using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>
/// Chooses what sounds for each stroke: the layer nearest in loudness, brought to exactly the velocity's
/// loudness by its gain. A piece never sounds the same sample twice running: the neighbouring layers take
/// turns (where none is near, a stroke and its <see cref="KitSample.FurtherTake"/>s do), and each stroke varies by at
/// most ±<see cref="VariationDb"/>.
/// </summary>
/// <remarks>
/// The choice hangs on the seed and the stroke's number alone, so two versions of a passage that differ
/// in timing only are played with the very same sounds. A kit cut from the passage itself plays each stroke
/// with its own sound where that was clean enough to keep; the others choose among strokes that
/// sounded alone.
/// </remarks>
internal sealed class StrokeChooser(Kit kit, ulong seed)
{
    /// <summary>Under what an ear tells between two strokes, enough that no two are copies (our choice, no source).</summary>
    public const double VariationDb = 0.2;

    /// <summary>A layer further off than this sounds played differently; it is not used for variety alone.</summary>
    private const double FurthestNeighbourDb = 7;

    /// <summary>How often the nearest layer is taken when it was not the last one played.</summary>
    private const double NearestShare = 0.7;

    private readonly Dictionary<KitPiece, KitSample> _last = [];
    private readonly Dictionary<KitPiece, IReadOnlyList<KitSample>> _toChooseFrom = [];
    private readonly Dictionary<int, KitSample> _ownSounds = kit.Pieces.SelectMany(kit.StrokesOf).Where(sample => sample.Source is not null)
        .ToDictionary(sample => sample.Source!.Value.Number);

    /// <param name="number">The stroke's number in its plan, from 0.</param>
    /// <param name="velocity">In (0, 127].</param>
    /// <param name="nextNumber">The number of the piece's next stroke, whose own sound must not come twice; negative = none.</param>
    public KitStroke Choose(int number, KitPiece piece, double velocity, int nextNumber = -1)
    {
        if (_ownSounds.TryGetValue(number, out KitSample? ownSound) && ownSound.Piece == piece)
        {
            _last[piece] = ownSound;
            double change = kit.LoudnessDb(piece, velocity) - kit.LoudnessDb(piece, ownSound.Source!.Value.Velocity);
            return new KitStroke(ownSound, (float)Math.Pow(10, change / 20));
        }

        var dice = new SplitMix64(seed + ((ulong)number * 0xD1342543DE82EF95));
        double byChance = dice.Uniform();
        double variation = VariationDb * ((2 * dice.Uniform()) - 1);
        double target = kit.LoudnessDb(piece, velocity);
        IReadOnlyList<KitSample> strokes = ToChooseFrom(piece);
        KitSample? last = _last.GetValueOrDefault(strokes[0].Piece);
        KitSample? next = nextNumber < 0 ? null : _ownSounds.GetValueOrDefault(nextNumber);
        KitSample chosen = Choose(target, byChance < NearestShare, strokes, last, next);
        _last[strokes[0].Piece] = chosen;
        return new KitStroke(chosen, (float)Math.Pow(10, (target - chosen.LoudnessDb + variation) / 20));
    }

    /// <summary>The nearest or the second nearest that is neither the last nor the next; where all others are far off, a further take of the nearest.</summary>
    private KitSample Choose(double target, bool wantsNearest, IReadOnlyList<KitSample> strokes, KitSample? last, KitSample? next)
    {
        KitSample? first = NearestTo(target, strokes, last, next, null);
        if (first is not null && Distance(first, target) <= FurthestNeighbourDb)
        {
            KitSample? other = wantsNearest ? null : NearestTo(target, strokes, last, next, first);
            return other is not null && Distance(other, target) <= FurthestNeighbourDb ? other : first;
        }

        KitSample nearest = NearestTo(target, strokes, null, null, null)!;
        if (nearest != last && nearest != next)
            return nearest;
        KitSample second = kit.FurtherTakeOf(nearest, isThird: false);
        return second != last ? second : kit.FurtherTakeOf(nearest, isThird: true);
    }

    private IReadOnlyList<KitSample> ToChooseFrom(KitPiece piece)
    {
        if (!_toChooseFrom.TryGetValue(piece, out IReadOnlyList<KitSample>? strokes))
        {
            KitSample[] alone = [.. kit.StrokesOf(piece).Where(sample => sample.Source is null or { Alone: true })];
            _toChooseFrom[piece] = strokes = alone.Length > 0 ? alone : kit.StrokesOf(piece);
        }

        return strokes;
    }

    private static KitSample? NearestTo(double target, IReadOnlyList<KitSample> strokes, KitSample? last, KitSample? next, KitSample? first)
    {
        KitSample? best = null;
        for (int i = 0; i < strokes.Count; i++)
        {
            if (strokes[i] != last && strokes[i] != next && strokes[i] != first && (best is null || Distance(strokes[i], target) < Distance(best, target)))
                best = strokes[i];
        }

        return best;
    }

    private static double Distance(KitSample sample, double target) => Math.Abs(sample.LoudnessDb - target);
}
