using Hindbeat.Performances;

namespace Hindbeat.Feel;

/// <summary>Two limbs at the places that both play: how far apart they fall, and how evenly.</summary>
/// <param name="First">The stream named first: the kick, mostly.</param>
/// <param name="Second">The stream it is set against: the hats, mostly.</param>
/// <param name="ApartMs">Mean of first − second, milliseconds, positive = the first comes later.</param>
/// <param name="SpreadMs">Standard deviation of first − second around the mean of each written place.</param>
/// <param name="Pairs">Strokes that the two share.</param>
public sealed record TogetherFigure(KitPiece First, KitPiece Second, Estimate ApartMs, Estimate SpreadMs, int Pairs);

/// <summary>
/// How tightly do two limbs fall together? At every written place that both play, the difference of their times; its
/// mean and its spread around the mean of each place in the bar, σ² = Σ(x − place mean)² ÷ (n − places). Neither tempo
/// nor reference is in it. Two limbs that know nothing of each other spread by √(σ₁² + σ₂²) (textbook arithmetic); less
/// means that one follows the other.
/// </summary>
/// <remarks>
/// Sioros, Câmara, Danielsen, ISMIR 2019, describe a performance by relations between kick, snare and hat at shared places.
/// Differences beyond 4 robust spreads are strays. Least data: <see cref="FewestPairs"/> shared strokes in two bars.
/// </remarks>
public static class Together
{
    public const int FewestPairs = 8;

    internal static IReadOnlyList<TogetherFigure> Measure(FeelModel model, BarResampling resampling)
    {
        StrokeTable table = model.Table;
        KitPiece[] streams = [.. table.Pieces.Select(Hand.StreamOf).Distinct().Order()];
        var places = streams.Select(stream => StreamPlaces.LoudestByPlace(table, stream)).ToList();
        var figures = new List<TogetherFigure>();
        for (int a = 0; a < streams.Length; a++)
        {
            for (int b = a + 1; b < streams.Length; b++)
            {
                (int First, int Second)[] pairs = [.. places[a].Where(entry => places[b].ContainsKey(entry.Key)).Select(entry => (entry.Value, places[b][entry.Key]))];
                if (pairs.Length >= FewestPairs && One(model, resampling, streams[a], streams[b], pairs) is { } figure)
                    figures.Add(figure);
            }
        }

        return figures;
    }

    private static TogetherFigure? One(FeelModel model, BarResampling resampling, KitPiece first, KitPiece second, (int First, int Second)[] pairs)
    {
        Stroke[] strokes = model.Table.Strokes;
        double[] values = [.. pairs.Select(pair => strokes[pair.First].Deviation - strokes[pair.Second].Deviation)];
        int[] cells = [.. pairs.Select(pair => strokes[pair.First].Cell)], blocks = [.. pairs.Select(pair => strokes[pair.First].Block)];
        double[] weights = [.. pairs.Select(pair => Math.Min(strokes[pair.First].Weight, strokes[pair.Second].Weight))];
        if (Spread.Interval(values, cells, blocks, resampling, model.Table.Blocks) is not { } spread)
            return null;
        var mean = new RobustMean(values, weights, blocks, model.Table.Blocks, Math.Max(Spread.Around(values, cells), 0.0005));
        double least = spread.Value / Math.Sqrt(pairs.Length);
        return resampling.Interval(mean.Without, mean.CountOf, leastSpread: least) is { } apart
            ? new TogetherFigure(first, second, LayBack.InMs(apart), LayBack.InMs(spread), pairs.Length)
            : null;
    }
}
