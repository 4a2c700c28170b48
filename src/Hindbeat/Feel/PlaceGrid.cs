using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Feel;

/// <summary>
/// Which places of a beat form pairs that can swing. A pair of 8ths lasts a quarter note and a pair of
/// 16ths an 8th note; a pair counts when it divides the counted beat. In 4/4 the "&amp;" is an off 8th,
/// "e" and "a" are off 16ths; in 6/8 (counted in dotted quarters) only 16ths form pairs.
/// </summary>
internal sealed class PlaceGrid
{
    /// <summary>
    /// A hand reads as a shuffle written in triplets when at most one in four of its triplet strokes is
    /// the middle one; above that it plays triplets, which are even, not swung.
    /// </summary>
    private const double MostMiddleThirds = 0.25;

    /// <summary>In 16ths; nearer to the next 16th than to its own by a clear margin, and beyond any lay-back or 16th swing (here 5 : 1).</summary>
    private const double FarthestFromPlace = 2.0 / 3;

    public PlaceGrid(Meter meter)
    {
        PairOfEighths = Pair(new Fraction(1, 4) / meter.BeatLength);
        PairOfSixteenths = Pair(new Fraction(1, 8) / meter.BeatLength);
    }

    /// <summary>Length of a pair of 8ths in beats; null when 8ths form no pairs within the beat.</summary>
    public Fraction? PairOfEighths { get; }

    /// <summary>Length of a pair of 16ths in beats; null when 16ths form no pairs within the beat.</summary>
    public Fraction? PairOfSixteenths { get; }

    public Fraction? PairOf(SwingLevel level) => level == SwingLevel.Eighth ? PairOfEighths : PairOfSixteenths;

    public PlaceRole RoleOf(Fraction within)
    {
        if (IsMultiple(within, PairOfEighths ?? PairOfSixteenths ?? Fraction.One))
            return PlaceRole.Start;
        if (PairOfEighths is { } eighths && IsMultiple(within, eighths / 2))
            return PlaceRole.OffEighth;
        if (PairOfSixteenths is { } sixteenths && IsMultiple(within, sixteenths / 2))
            return PlaceRole.OffSixteenth;
        return PlaceRole.Other;
    }

    /// <summary>
    /// Whether the triplet places among <paramref name="places"/> (one hand's) are a shuffle: the last
    /// third of a pair without its middle third. Null when the hand plays no triplet places or plays
    /// them evenly.
    /// </summary>
    public SwingLevel? ShuffleOf(IEnumerable<Fraction> places)
    {
        int lastOfEighths = 0, lastOfSixteenths = 0, middleOfEighths = 0, middleOfSixteenths = 0, lateSixteenths = 0;
        foreach (Fraction place in places)
        {
            if (ThirdOf(place, PairOfEighths) is { } third)
                (lastOfEighths, middleOfEighths) = third == 2 ? (lastOfEighths + 1, middleOfEighths) : (lastOfEighths, middleOfEighths + 1);
            if (ThirdOf(place, PairOfSixteenths) is { } short3)
            {
                (lastOfSixteenths, middleOfSixteenths) = short3 == 2 ? (lastOfSixteenths + 1, middleOfSixteenths) : (lastOfSixteenths, middleOfSixteenths + 1);
                // 1/3 of the beat is also the middle of a triplet of 8ths; 5/6 can only belong to 16ths.
                if (short3 == 2 && ThirdOf(place, PairOfEighths) is null)
                    lateSixteenths++;
            }
        }

        if (lastOfEighths > 0 && middleOfEighths <= MostMiddleThirds * lastOfEighths && lateSixteenths <= MostMiddleThirds * lastOfEighths)
            return SwingLevel.Eighth;
        return lateSixteenths > 0 && middleOfSixteenths <= MostMiddleThirds * lastOfSixteenths ? SwingLevel.Sixteenth : null;
    }

    /// <summary>
    /// Whether 8ths that are written even are played as long and short of a triplet: most strokes on the off-beats lie nearer to the
    /// last third of the pair than to its middle. There the last third of a written triplet is the short of a pair as well.
    /// </summary>
    /// <param name="places">Places of all pieces with how late each was struck, in beats, what the whole kit shares taken out.</param>
    public bool IsShuffleWrittenEven(IReadOnlyCollection<(Fraction Within, double Late)> places)
    {
        double[] late = [.. places.Where(place => RoleOf(place.Within) == PlaceRole.OffEighth).Select(place => place.Late)];
        // Halfway from the middle of the pair to its last third.
        return late.Length >= SwingRatio.FewestStrokes && Sorting.Median(late) > PairOfEighths!.Value.ToDouble() / 12;
    }

    /// <summary>The even place that a shuffle's last third swings from: 2/3 of a pair becomes 1/2; other places stay.</summary>
    public Fraction EvenPlaceOf(Fraction within, SwingLevel shuffle)
    {
        Fraction? pair = PairOf(shuffle);
        return pair is { } length && ThirdOf(within, pair) == 2 ? within - (length / 6) : within;
    }

    /// <summary>1 for the middle third of its pair, 2 for the last, null when it lies on neither.</summary>
    private static int? ThirdOf(Fraction within, Fraction? pair)
    {
        if (pair is not { } length)
            return null;
        Fraction inPairs = within / length;
        Fraction rest = inPairs - new Fraction(inPairs.Floor());
        return rest == new Fraction(1, 3) ? 1 : rest == new Fraction(2, 3) ? 2 : null;
    }

    /// <summary>
    /// Whether a stroke lies so far from its place (beats, positive = late) that it was played at another and written wrongly: two
    /// thirds of a 16th; the second of two 8ths may come a third of the pair late, a swing of 5 : 1.
    /// </summary>
    public bool IsElsewhere(PlaceRole role, double late)
    {
        double sixteenth = 0.5 * (PairOf(SwingLevel.Sixteenth)?.ToDouble() ?? 0.5), most = FarthestFromPlace * sixteenth;
        double mostLate = role == PlaceRole.OffEighth ? Math.Max(most, PairOf(SwingLevel.Eighth)!.Value.ToDouble() / 3) : most;
        return late < -most || late > mostLate;
    }

    private static Fraction? Pair(Fraction inBeats) => inBeats.Numerator == 1 ? inBeats : null;

    private static bool IsMultiple(Fraction value, Fraction unit) => (value / unit).Denominator == 1;
}
