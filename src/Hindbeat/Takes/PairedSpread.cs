using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Takes;

/// <summary>
/// How much looser a piece is in the take than in the passage, from the strokes that are in both: a place struck once in the passage and four
/// times in the take's four rounds would tell of looseness there and not here.
/// </summary>
/// <remarks>
/// Spread: standard deviation of what is left of each deviation when its place's mean and its bar's mean are taken off, round by round in the take.
/// L = ln(spread in the take ÷ spread in the passage); interval by jackknife over the passage's bars (<see cref="BarSums"/>), never narrower than of independent
/// normal values (1/√(2n), textbook), Student's t with one degree less than bars. More = e^L − 1: of the strokes that are in both the spread may be another than
/// the piece's looseness, so only their ratio is told.
/// </remarks>
internal sealed class PairedSpread
{
    /// <summary>Fewer strokes beyond those that fix the means are not compared.</summary>
    private const int FewestEvidence = 6;

    private readonly record struct Left(KitPiece Piece, int Bar, (int Beat, Fraction Within) Place, int Round, double Ms);

    private readonly Left[] _passage;
    private readonly Left[] _take;
    private readonly int[] _bars;

    public PairedSpread(AlignedTake take, Performance passage)
    {
        PairedStroke[] pairs = [.. take.Pairs.Where(pair => !pair.OnOtherPiece)];
        var once = pairs.Select(pair => pair.Reference).Distinct().Select(hit => LeftOf(hit, 0, passage.Pulse.DeviationOf(hit)!.Value.Milliseconds));
        _passage = WithoutMeans(once);
        _take = WithoutMeans(pairs.Select(pair => LeftOf(pair.Reference, pair.Round, pair.Later.Milliseconds + passage.Pulse.DeviationOf(pair.Reference)!.Value.Milliseconds)));
        _bars = [.. _passage.Select(one => one.Bar).Distinct().Order()];
    }

    /// <summary>By what share of the passage's the standard deviation is larger in the take, −1 to ∞; null when too little is there.</summary>
    public Estimate? Of(KitPiece piece)
    {
        (double Squares, double Evidence)[] passage = Sums(_passage, piece), take = Sums(_take, piece);
        double first = passage.Sum(bar => bar.Evidence), second = take.Sum(bar => bar.Evidence);
        int bars = passage.Count(bar => bar.Evidence > 0);
        if (first < FewestEvidence || second < FewestEvidence || bars < 3)
            return null;
        double Spread((double Squares, double Evidence)[] all, int without)
        {
            double squares = 0, evidence = 0;
            for (int b = 0; b < all.Length; b++)
                (squares, evidence) = b == without ? (squares, evidence) : (squares + all[b].Squares, evidence + all[b].Evidence);
            return Math.Sqrt(Math.Max(squares, 1e-6) / Math.Max(evidence, 0.5));
        }

        double log = Math.Log(Spread(take, -1) / Spread(passage, -1));
        double error = BarSums.Jackknife(_bars.Length, bar => Math.Log(Spread(take, bar) / Spread(passage, bar)));
        double half = StudentT.Quantile975(Math.Max(2, bars - 1)) * Math.Max(error, Math.Sqrt((1 / (2 * first)) + (1 / (2 * second))));
        return new Estimate(Math.Exp(log) - 1, Math.Exp(log - half) - 1, Math.Exp(log + half) - 1);
    }

    private static Left LeftOf(Hit hit, int round, double ms) => new(hit.Piece, hit.Position!.Value.Bar, (hit.Position!.Value.Beat, hit.Position!.Value.Within), round, ms);

    private static Left[] WithoutMeans(IEnumerable<Left> strokes)
    {
        Left[] byPlace = [.. strokes.GroupBy(one => (one.Piece, one.Place, one.Round)).Where(place => place.Count() > 1).SelectMany(place =>
        {
            double mean = place.Average(one => one.Ms);
            return place.Select(one => one with { Ms = one.Ms - mean });
        })];
        return [.. byPlace.GroupBy(one => (one.Bar, one.Round)).SelectMany(bar =>
        {
            double mean = bar.Average(one => one.Ms);
            return bar.Select(one => one with { Ms = one.Ms - mean });
        })];
    }

    /// <summary>By bar: squares, and strokes less what their places' means took.</summary>
    private (double Squares, double Evidence)[] Sums(Left[] strokes, KitPiece piece)
    {
        var sums = new (double Squares, double Evidence)[_bars.Length];
        foreach (var place in strokes.Where(one => one.Piece == piece).GroupBy(one => (one.Place, one.Round)))
        {
            double share = 1 - (1.0 / place.Count());
            foreach (Left one in place)
            {
                ref (double Squares, double Evidence) sum = ref sums[Array.BinarySearch(_bars, one.Bar)];
                sum = (sum.Squares + (one.Ms * one.Ms), sum.Evidence + share);
            }
        }

        return sums;
    }
}
