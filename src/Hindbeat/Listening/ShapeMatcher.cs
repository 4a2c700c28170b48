using System.Numerics.Tensors;

namespace Hindbeat.Listening;

/// <summary>How a stroke lies on the shapes of its piece.</summary>
/// <param name="Shape">Index of the likeliest shape.</param>
/// <param name="Lag">Samples from where the stroke was thought to be to where the shape lies on it.</param>
/// <param name="Gain">How many times the shape it is, in the shape's loudest band.</param>
/// <param name="Score">Log likelihood over no likeness at all; 0 = nothing alike.</param>
internal readonly record struct ShapeFit(int Shape, int Lag, double Gain, double Score);

/// <summary>Lays shapes on strokes.</summary>
/// <remarks>
/// For shape s at lag d the score is −Σ over bands of w·n·ln(1 − ρ²), ρ the correlation of the two over n samples: the likelihood of a scaled shape in white noise of unknown
/// power (textbook, from memory), w what a sample of the band counts. A band that another piece fills correlates little and so says little. Lags are first tried in
/// steps by the slower bands alone, every few samples, which costs a sixth of trying all.
/// One instance a thread; <see cref="Look"/> and <see cref="Fit"/> allocate nothing.
/// </remarks>
internal sealed class ShapeMatcher
{
    /// <summary>Shapes are tried this far to either side of the first time: 4 ms, twice what all but a few first times are off by. 6 ms found no more strokes and mistook more hats.</summary>
    public const int Reach = 176;

    /// <summary>
    /// Least score of a stroke that is like its shape. One that lies on it worse keeps its first time, moved by as much as its piece's usual stroke was; 60 left more strokes
    /// where they were and helped nobody.
    /// </summary>
    public const double Alike = 20;

    /// <summary>Around the best of the steps every lag is tried this far to either side.</summary>
    private const int Around = 4;

    /// <summary>First times scatter by this many samples (2 ms).</summary>
    private const double Scatter = 0.002 * StrokeView.Rate;

    private const double AlmostOne = 0.9999;
    private const int Span = StrokeShape.Length + (2 * Reach);

    private readonly double[][] _energy = [.. Enumerable.Range(0, 3).Select(_ => new double[Span + 1])];
    private readonly float[][] _samples = [.. Enumerable.Range(0, 3).Select(_ => new float[Span])];
    private readonly float[][] _steps = [.. Enumerable.Range(0, 3).Select(_ => new float[Span + SlidingProducts.Block])];
    private readonly double[] _scores = new double[(2 * Reach) + 1];
    private readonly double[] _left = new double[(2 * Reach) + 1];
    private readonly float[] _both = new float[Blocks((2 * Reach) + 1)];
    private StrokeBands _bands = StrokeBands.Of(default);

    /// <summary>The stroke in the family's three bands; <paramref name="at"/> is the index of its first time.</summary>
    public void Look(ReadOnlySpan<float> first, ReadOnlySpan<float> second, ReadOnlySpan<float> third, int at, StrokeBands bands)
    {
        _bands = bands;
        int start = at - StrokeShape.Before - Reach;
        Take(first.Slice(start, Span), 0);
        Take(second.Slice(start, Span), 1);
        Take(third.Slice(start, Span), 2);

        // Each sum waits for its own last; three are made in the time of one.
        (double[] energy0, double[] energy1, double[] energy2) = (_energy[0], _energy[1], _energy[2]);
        (float[] samples0, float[] samples1, float[] samples2) = (_samples[0], _samples[1], _samples[2]);
        (double sum0, double sum1, double sum2) = (0, 0, 0);
        for (int i = 0; i < Span; i++)
        {
            energy0[i + 1] = sum0 += (double)samples0[i] * samples0[i];
            energy1[i + 1] = sum1 += (double)samples1[i] * samples1[i];
            energy2[i + 1] = sum2 += (double)samples2[i] * samples2[i];
        }
    }

    /// <param name="shapes">One or more, of the family looked at.</param>
    public ShapeFit Fit(ReadOnlySpan<StrokeShape> shapes) => Best(shapes, null);

    /// <summary>The same where the lag is known to a few samples: a quarter of the work.</summary>
    public ShapeFit FitNear(ReadOnlySpan<StrokeShape> shapes, int lag) => Best(shapes, lag);

    private ShapeFit Best(ReadOnlySpan<StrokeShape> shapes, int? known)
    {
        ShapeFit best = new(0, 0, 0, 0);
        double most = double.MinValue;
        for (int index = 0; index < shapes.Length; index++)
        {
            StrokeShape shape = shapes[index];
            int near = known ?? (-Reach + (_bands.Coarse.Step * Coarsely(shape)));
            int from = Math.Max(-Reach, near - Around);
            int lags = Math.Min(Reach, near + Around) - from + 1;
            Span<double> scores = _scores.AsSpan(0, lags);
            scores.Clear();
            for (int band = 0; band < 3; band++)
            {
                Span<double> left = _left.AsSpan(0, lags);
                for (int i = 0; i < lags; i++)
                    left[i] = Unlike(band, from + i, Both(band, from + i, shape), shape);
                AddLikeness(band, left, scores);
            }

            for (int i = 0; i < lags; i++)
            {
                int lag = from + i;
                if (scores[i] + Prior(lag) > most)
                {
                    most = scores[i] + Prior(lag);
                    best = new ShapeFit(index, lag, Math.Max(1e-9, Both(shape.Loudest, lag, shape) / shape.Energy[shape.Loudest]), scores[i]);
                }
            }
        }

        return best;
    }

    /// <summary>The likeliest of the steps, counted from the earliest lag, by the slower bands alone.</summary>
    private int Coarsely(StrokeShape shape)
    {
        (int firstBand, int endBand, int step) = _bands.Coarse;
        int lags = (2 * Reach / step) + 1;
        Span<double> scores = _scores.AsSpan(0, lags);
        Span<double> left = _left.AsSpan(0, lags);
        Span<float> both = _both.AsSpan(0, Blocks(lags));
        for (int j = 0; j < lags; j++)
            scores[j] = Prior((j * step) - Reach);
        for (int band = firstBand; band < endBand; band++)
        {
            Correlate(_steps[band], shape.Steps[band], both);
            for (int j = 0; j < lags; j++)
                left[j] = Unlike(band, (j * step) - Reach, (double)both[j] * step, shape);
            AddLikeness(band, left, scores);
        }

        return TensorPrimitives.IndexOfMax<double>(scores);
    }

    /// <summary>The sum of products at every lag.</summary>
    private static void Correlate(ReadOnlySpan<float> samples, ReadOnlySpan<float> shape, Span<float> both)
    {
        both.Clear();
        SlidingProducts.Add(samples, shape, both);
    }

    /// <summary>So many lags are correlated: full blocks.</summary>
    private static int Blocks(int lags) => (lags + SlidingProducts.Block - 1) / SlidingProducts.Block * SlidingProducts.Block;

    private static double Prior(int lag) => -0.5 * (lag / Scatter) * (lag / Scatter);

    private double Both(int band, int lag, StrokeShape shape) => TensorPrimitives.Dot(_samples[band].AsSpan(Reach + lag, StrokeShape.Length), shape.Bands[band]);

    /// <summary>1 − ρ².</summary>
    private double Unlike(int band, int lag, double both, StrokeShape shape)
    {
        if (both <= 0)
            return 1;
        double own = _energy[band][Reach + lag + StrokeShape.Length] - _energy[band][Reach + lag] + 1e-20;
        return 1 - Math.Min(AlmostOne, both * both / (own * shape.Energy[band]));
    }

    /// <param name="left">1 − ρ² of each lag; holds its logarithm afterwards.</param>
    private void AddLikeness(int band, Span<double> left, Span<double> scores)
    {
        TensorPrimitives.Log(left, left);
        TensorPrimitives.MultiplyAdd(left, -_bands.Bands[band].ShapeWeight * StrokeShape.Length, scores, scores);
    }

    private void Take(ReadOnlySpan<float> samples, int band)
    {
        samples.CopyTo(_samples[band]);
        (int first, int end, int step) = _bands.Coarse;
        if (band < first || band >= end)
            return;
        for (int i = 0, j = 0; i < samples.Length; i += step, j++)
            _steps[band][j] = samples[i];
    }
}
