using System.Numerics.Tensors;

namespace Hindbeat.Listening;

/// <summary>One kind of stroke of this recording: the average of strokes that were laid on one another, in the family's bands.</summary>
/// <param name="Bands">Three bands, <see cref="Length"/> samples each, from <see cref="Before"/> before the point that strokes are laid on.</param>
/// <param name="Onset">Samples from that point to the stroke's first moment; negative = earlier.</param>
internal sealed record StrokeShape(float[][] Bands, int Onset)
{
    /// <summary>A shape begins 3 ms before the point that strokes are laid on ...</summary>
    public const int Before = (int)(0.003 * StrokeView.Rate);

    /// <summary>... and ends 16 ms after it: the attack, in which a piece's strokes are alike.</summary>
    public const int Length = (int)(0.019 * StrokeView.Rate);

    /// <summary>Energy of each band.</summary>
    public double[] Energy { get; } = [.. Bands.Select(band => TensorPrimitives.SumOfSquares<float>(band) + 1e-20)];
}

/// <summary>How a stroke lies on the shapes of its piece.</summary>
/// <param name="Shape">Index of the likeliest shape.</param>
/// <param name="Lag">Samples from where the stroke was thought to be to where the shape lies on it.</param>
/// <param name="Gain">How many times the shape it is, in the shape's loudest band.</param>
/// <param name="Score">Log likelihood over no likeness at all; 0 = nothing alike.</param>
internal readonly record struct ShapeFit(int Shape, int Lag, double Gain, double Score);

/// <summary>Lays shapes on strokes.</summary>
/// <remarks>
/// For shape s at lag d the score is −Σ over bands of w·n·ln(1 − ρ²), ρ the correlation of the two over n samples: the likelihood of a scaled shape in white noise of unknown
/// power (textbook, from memory), w what a sample of the band counts. A band that another piece fills correlates little and so says little.
/// One instance a thread; <see cref="Fit"/> allocates nothing.
/// </remarks>
internal sealed class ShapeMatcher
{
    /// <summary>Shapes are tried this far to either side of the first time: 4 ms, twice what all but a few first times are off by. 6 ms found no more strokes and mistook more hats.</summary>
    public const int Reach = 176;

    /// <summary>Samples between the places tried first; then all around the best.</summary>
    private const int Coarse = 4;

    /// <summary>First times scatter by this many samples (2 ms).</summary>
    private const double Scatter = 0.002 * StrokeView.Rate;

    private const double AlmostOne = 0.9999;

    private readonly double[][] _energy = [.. Enumerable.Range(0, 3).Select(_ => new double[StrokeShape.Length + (2 * Reach) + 1])];

    /// <param name="first">The stroke in the family's three bands; <paramref name="at"/> is the index of its first time.</param>
    /// <param name="shapes">One or more.</param>
    public ShapeFit Fit(ReadOnlySpan<float> first, ReadOnlySpan<float> second, ReadOnlySpan<float> third, int at, StrokeBands bands, ReadOnlySpan<StrokeShape> shapes)
    {
        int start = at - StrokeShape.Before - Reach;
        first = first.Slice(start, StrokeShape.Length + (2 * Reach));
        second = second.Slice(start, first.Length);
        third = third.Slice(start, first.Length);
        Accumulate(first, _energy[0]);
        Accumulate(second, _energy[1]);
        Accumulate(third, _energy[2]);
        ShapeFit best = new(0, 0, 0, double.MinValue);
        double bestSum = double.MinValue;
        for (int shape = 0; shape < shapes.Length; shape++)
        {
            int near = 0;
            double nearSum = double.MinValue;
            for (int lag = -Reach; lag <= Reach; lag += Coarse)
                Try(first, second, third, lag, ref near, ref nearSum, ref best, ref bestSum, shape, shapes[shape], bands);
            int from = Math.Max(-Reach, near - Coarse + 1);
            int to = Math.Min(Reach, near + Coarse - 1);
            for (int lag = from; lag <= to; lag++)
                Try(first, second, third, lag, ref near, ref nearSum, ref best, ref bestSum, shape, shapes[shape], bands);
        }

        return best;
    }

    private void Try(
        ReadOnlySpan<float> first, ReadOnlySpan<float> second, ReadOnlySpan<float> third, int lag,
        ref int near, ref double nearSum, ref ShapeFit best, ref double bestSum, int index, StrokeShape shape, StrokeBands bands)
    {
        double score = 0;
        double gain = 0;
        double loudest = 0;
        for (int band = 0; band < 3; band++)
        {
            ReadOnlySpan<float> part = (band == 0 ? first : band == 1 ? second : third).Slice(Reach + lag, StrokeShape.Length);
            double own = _energy[band][Reach + lag + StrokeShape.Length] - _energy[band][Reach + lag] + 1e-20;
            double both = TensorPrimitives.Dot(part, shape.Bands[band]);
            double alike = both > 0 ? Math.Min(AlmostOne, both * both / (own * shape.Energy[band])) : 0;
            score -= bands.Bands[band].ShapeWeight * StrokeShape.Length * Math.Log(1 - alike);
            if (shape.Energy[band] > loudest)
                (loudest, gain) = (shape.Energy[band], both / shape.Energy[band]);
        }

        double off = lag / Scatter;
        double sum = score - (0.5 * off * off);
        if (sum > nearSum)
            (near, nearSum) = (lag, sum);
        if (sum > bestSum)
            (best, bestSum) = (new ShapeFit(index, lag, Math.Max(gain, 1e-9), score), sum);
    }

    private static void Accumulate(ReadOnlySpan<float> samples, double[] energy)
    {
        double sum = 0;
        for (int i = 0; i < samples.Length; i++)
        {
            sum += (double)samples[i] * samples[i];
            energy[i + 1] = sum;
        }
    }
}
