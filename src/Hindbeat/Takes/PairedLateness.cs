using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Takes;

/// <summary>
/// How much later a piece comes in the take than in the passage, stroke against stroke: what a drummer does at one place of the
/// bar is in both and drops out, so the difference is known far better than from two lay-backs apart.
/// </summary>
/// <remarks>
/// D = mean(d of the piece) − mean(d of the reference), d = the take's deviation − the passage's at one written stroke, at places
/// that do not swing. Interval: delete-one jackknife over the passage's bars (a bar and all its rounds is one block, since its
/// rounds share the passage's strokes), Student's t with one degree less than blocks. Miller, Biometrika 61:1–15, 1974 (stated from memory).
/// </remarks>
internal sealed class PairedLateness
{
    /// <summary>Fewer pairs of a piece, or bars, say nothing.</summary>
    private const int FewestPairs = 6, FewestBars = 3;

    /// <summary>No interval is finer than this, ms: a tick of an electronic kit's MIDI is about a millisecond long.</summary>
    private const double FinestMs = 0.6;

    private readonly (PairedStroke Pair, int Bar, double Late)[] _pairs;
    private readonly int[] _bars;
    private readonly HashSet<KitPiece> _reference;

    public PairedLateness(AlignedTake take, FeelReport original)
    {
        // A place struck too seldom to be listed may swing for all one knows.
        var straight = original.Places.Where(place => !place.Swings).Select(place => (place.Piece, place.Beat, place.Within)).ToHashSet();
        _pairs = [.. take.Pairs.Where(pair => !pair.OnOtherPiece && pair.Reference.Position is { } place && straight.Contains((pair.Reference.Piece, place.Beat, place.Within)))
            .Select(pair => (pair, pair.Reference.Position!.Value.Bar, pair.Later.Milliseconds))];
        _bars = [.. _pairs.Select(one => one.Bar).Distinct().Order()];
        _reference = ReferencePieces(original);
    }

    /// <summary>The pieces that a report measures against.</summary>
    public static HashSet<KitPiece> ReferencePieces(FeelReport report) => report.Reference == FeelReference.WholeKit || report.Reference == FeelReference.Click
        ? [.. KitPieces.All]
        : [.. report.LayBack.Where(figure => figure.Doubts.OfType<IsTheReference>().Any()).Select(figure => figure.Piece)];

    /// <summary>How much later than in the passage the reference itself comes, each against its own pulse, ms; null without a stroke of it.</summary>
    public double? OfReference => _pairs.Where(one => _reference.Contains(one.Pair.Reference.Piece)).Select(one => (double?)one.Late).Average();

    /// <summary>A piece's lateness against the reference, take − passage; null when too little is there.</summary>
    public Estimate? Of(KitPiece piece) => Between(one => one.Pair.Reference.Piece == piece, one => _reference.Contains(one.Pair.Reference.Piece));

    /// <summary>What a piece does at one place beyond what it does at the others, take − passage; null when too little is there.</summary>
    public Estimate? At(KitPiece piece, int beat, Fraction within) => Between(
        one => one.Pair.Reference.Piece == piece && IsAt(one.Pair.Reference, beat, within),
        one => one.Pair.Reference.Piece == piece && !IsAt(one.Pair.Reference, beat, within));

    private static bool IsAt(Hit hit, int beat, Fraction within) => hit.Position is { } place && place.Beat == beat && place.Within == within;

    private Estimate? Between(Func<(PairedStroke Pair, int Bar, double Late), bool> these, Func<(PairedStroke Pair, int Bar, double Late), bool> those)
    {
        var first = new Sums(_bars, _pairs.Where(these));
        var second = new Sums(_bars, _pairs.Where(those));
        if (first.Count < FewestPairs || second.Count < FewestPairs || first.Bars < FewestBars)
            return null;
        double value = first.Mean(-1) - second.Mean(-1);
        int blocks = _bars.Length;
        double[] without = [.. Enumerable.Range(0, blocks).Select(block => first.Mean(block) - second.Mean(block))];
        double middle = without.Average();
        double variance = (blocks - 1.0) / blocks * without.Sum(one => (one - middle) * (one - middle));
        double half = Math.Sqrt((Math.Pow(StudentT.Quantile975(Math.Max(2, first.Bars - 1)), 2) * variance) + (FinestMs * FinestMs));
        return new Estimate(value, value - half, value + half);
    }

    private sealed class Sums
    {
        private readonly double[] _sum;
        private readonly int[] _count;

        public Sums(int[] bars, IEnumerable<(PairedStroke Pair, int Bar, double Late)> pairs)
        {
            _sum = new double[bars.Length];
            _count = new int[bars.Length];
            foreach ((_, int bar, double late) in pairs)
            {
                int block = Array.BinarySearch(bars, bar);
                _sum[block] += late;
                _count[block]++;
            }

            Count = _count.Sum();
            Bars = _count.Count(count => count > 0);
        }

        public int Count { get; }

        /// <summary>Bars that hold any.</summary>
        public int Bars { get; }

        public double Mean(int withoutBlock)
        {
            double sum = _sum.Sum() - (withoutBlock < 0 ? 0 : _sum[withoutBlock]);
            int count = Count - (withoutBlock < 0 ? 0 : _count[withoutBlock]);
            return count == 0 ? 0 : sum / count;
        }
    }
}
