using System.Numerics.Tensors;

namespace Hindbeat.Listening;

/// <summary>One kind of stroke of this recording: the average of strokes that were laid on one another, in the family's bands.</summary>
/// <param name="Bands">Three bands, <see cref="Length"/> samples each, from <see cref="Before"/> before the point that strokes are laid on.</param>
/// <param name="Onset">Samples from that point to the stroke's first moment; negative = earlier.</param>
/// <param name="Step">Every so many samples make <see cref="Steps"/>.</param>
internal sealed record StrokeShape(float[][] Bands, int Onset, int Step)
{
    /// <summary>A shape begins 3 ms before the point that strokes are laid on ...</summary>
    public const int Before = (int)(0.003 * StrokeView.Rate);

    /// <summary>... and ends 16 ms after it: the attack, in which a piece's strokes are alike.</summary>
    public const int Length = (int)(0.019 * StrokeView.Rate);

    /// <summary>The kind's <see cref="AverageSound"/>; null where it was not asked for.</summary>
    public float[]? Sound { get; init; }

    /// <summary>Energy of each band.</summary>
    public double[] Energy { get; } = [.. Bands.Select(band => TensorPrimitives.SumOfSquares<float>(band) + 1e-20)];

    /// <summary>Every few samples of each band.</summary>
    public float[][] Steps { get; } = [.. Bands.Select(band => Enumerable.Range(0, (band.Length + Step - 1) / Step).Select(i => band[i * Step]).ToArray())];

    /// <summary>The band with the most energy.</summary>
    public int Loudest { get; } = Enumerable.Range(0, Bands.Length).MaxBy(band => TensorPrimitives.SumOfSquares<float>(Bands[band]));
}
