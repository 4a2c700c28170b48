using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Takes;

/// <summary>
/// How much louder a piece is at one place of the bar in the take than in the passage, against the same strokes elsewhere. From two figures apart a
/// backbeat was 20 dB louder in a take that only added ghost strokes: the mean that it is held against had changed.
/// </summary>
/// <remarks>
/// A = mean(e at the place) − mean(e of all the piece's pairs), e = the take's level − the passage's of one written stroke, dB, so that the two recordings may be
/// of any loudness. Interval: jackknife over the passage's bars (<see cref="BarSums"/>), Student's t with one degree less than the bars that hold the place.
/// </remarks>
internal sealed class PairedTouch
{
    private const int FewestPairs = 6, FewestBars = 3;

    /// <summary>No interval is finer than this, dB: a step of MIDI velocity is 0.1 to 0.3 dB in the middle of its range.</summary>
    private const double FinestDb = 0.2;

    private readonly record struct Pair(KitPiece Piece, int Bar, int Beat, Fraction Within, double Louder);

    private readonly Pair[] _pairs;
    private readonly int[] _bars;

    public PairedTouch(AlignedTake take)
    {
        _pairs = [.. take.Pairs.Where(pair => !pair.OnOtherPiece).Select(pair =>
        {
            BarPosition place = pair.Reference.Position!.Value;
            return new Pair(pair.Reference.Piece, place.Bar, place.Beat, place.Within, pair.Take.Level.Dbfs - pair.Reference.Level.Dbfs);
        })];
        _bars = [.. _pairs.Select(one => one.Bar).Distinct().Order()];
    }

    /// <summary>Accent, take − passage, dB; null when too little is there.</summary>
    public Estimate? At(KitPiece piece, int beat, Fraction within)
    {
        BarSums whole = Sums(_pairs.Where(one => one.Piece == piece)), place = Sums(_pairs.Where(one => one.Piece == piece && one.Beat == beat && one.Within == within));
        if (place.Count < FewestPairs || place.Bars < FewestBars || whole.Count == place.Count)
            return null;
        double value = place.Mean(-1) - whole.Mean(-1);
        double error = BarSums.Jackknife(_bars.Length, bar => place.Mean(bar) - whole.Mean(bar));
        double sampled = StudentT.Quantile975(Math.Max(2, place.Bars - 1)) * error, half = Math.Sqrt((sampled * sampled) + (FinestDb * FinestDb));
        return new Estimate(value, value - half, value + half);
    }

    private BarSums Sums(IEnumerable<Pair> pairs) => new(_bars, pairs.Select(one => (one.Bar, one.Louder)));
}
