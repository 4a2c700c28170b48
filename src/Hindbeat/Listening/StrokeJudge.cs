using System.Globalization;
using System.Numerics.Tensors;

namespace Hindbeat.Listening;

/// <summary>
/// Weighs <see cref="StrokeEvidence"/> into the probability that a family was struck: sixteen numbers through twelve
/// soft steps, one set of weights a family, fitted on rendered takes with known strokes.
/// </summary>
/// <remarks>
/// Weights come from Groove MIDI train takes (CC BY 4.0, Google LLC) rendered with detuned, re-coloured strokes of
/// L. Muldjord's kit (CC BY 4.0); training/StrokeTemplates makes them again. No real recording took part.
/// </remarks>
internal sealed class StrokeJudge
{
    public const int Hidden = 12;

    /// <summary>Numbers a family: mean and scale of each input, the hidden layer with its biases, the output with its bias.</summary>
    public const int WeightCount = (2 * StrokeEvidence.Size) + (Hidden * (StrokeEvidence.Size + 1)) + Hidden + 1;

    private const string Resource = "Hindbeat.Listening.stroke-judge.csv";
    private readonly float[][] _weights;

    /// <param name="weights">One array a family, in the order that <see cref="WeightCount"/> says.</param>
    public StrokeJudge(float[][] weights) => _weights = weights;

    public static StrokeJudge Shipped()
    {
        using Stream stream = typeof(StrokeJudge).Assembly.GetManifestResourceStream(Resource)
            ?? throw new InvalidOperationException($"The engine lacks its resource {Resource}.");
        using StreamReader reader = new(stream);
        List<float[]> weights = [];
        while (reader.ReadLine() is { } line)
        {
            if (!line.StartsWith('#'))
                weights.Add([.. line.Split(',').Skip(1).Select(field => float.Parse(field, CultureInfo.InvariantCulture))]);
        }

        if (weights.Count != StrokeFamilies.Count || weights.Any(set => set.Length != WeightCount))
            throw new FormatException($"{Resource} must hold {StrokeFamilies.Count} lines of {WeightCount} weights.");
        return new StrokeJudge([.. weights]);
    }

    /// <summary>Probability in [0, 1] that the family was struck.</summary>
    public float Probability(StrokeFamily family, ReadOnlySpan<float> evidence)
    {
        ReadOnlySpan<float> weights = _weights[(int)family];
        Span<float> scaled = stackalloc float[StrokeEvidence.Size];
        for (int i = 0; i < scaled.Length; i++)
            scaled[i] = (evidence[i] - weights[i]) * weights[StrokeEvidence.Size + i];
        ReadOnlySpan<float> rest = weights[(2 * StrokeEvidence.Size)..];
        ReadOnlySpan<float> output = rest[(Hidden * (StrokeEvidence.Size + 1))..];
        float sum = output[Hidden];
        for (int unit = 0; unit < Hidden; unit++)
        {
            ReadOnlySpan<float> row = rest.Slice(unit * (StrokeEvidence.Size + 1), StrokeEvidence.Size + 1);
            sum += output[unit] * MathF.Tanh(TensorPrimitives.Dot(row[..^1], scaled) + row[^1]);
        }

        return 1f / (1f + MathF.Exp(-sum));
    }
}
