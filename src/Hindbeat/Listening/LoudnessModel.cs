using System.Numerics.Tensors;
using System.Text.Json;
using Hindbeat.Performances;

namespace Hindbeat.Listening;

/// <summary>Weighs the estimates of a stroke's loudness by what is known of it: a small network a family (models/loudness.json, made by training/fit_loudness.py).</summary>
/// <remarks>
/// h = tanh(B tanh(A k + a) + b); loudness = Σ softmax(E h + e) · estimates + 3 (r·h + ρ), k what is known, in decibels as the estimates are. Safe to use from several threads.
/// </remarks>
internal sealed class LoudnessModel
{
    private const double Remainder = 3;

    private readonly Family[] _families;

    private LoudnessModel(Family[] families) => _families = families;

    /// <summary>Values that <see cref="Loudness"/> works in.</summary>
    public int Scratch => (2 * Hidden) + LoudnessFeatures.Estimates;

    /// <summary>Values between the layers.</summary>
    private int Hidden => _families[0].InnerShift.Length;

    /// <param name="known">A stroke's row of <see cref="LoudnessFeatures.KnownOf"/>.</param>
    /// <param name="estimates">Its row of <see cref="LoudnessFeatures.EstimatesOf"/>.</param>
    /// <param name="scratch"><see cref="Scratch"/> values, overwritten.</param>
    /// <returns>Decibels by the square law, 0 = velocity 127.</returns>
    public double Loudness(PieceFamily family, ReadOnlySpan<float> known, ReadOnlySpan<float> estimates, Span<float> scratch)
    {
        Family of = _families[(int)family];
        Span<float> outer = scratch[..Hidden];
        Span<float> inner = scratch.Slice(Hidden, Hidden);
        Span<float> say = scratch.Slice(2 * Hidden, estimates.Length);
        Layer(of.Outer, of.OuterShift, known, outer);
        Bend(outer);
        Layer(of.Inner, of.InnerShift, outer, inner);
        Bend(inner);
        Layer(of.Say, of.SayShift, inner, say);
        float most = float.NegativeInfinity;
        foreach (float value in say)
            most = Math.Max(most, value);
        double sum = 0;
        double weights = 0;
        for (int i = 0; i < say.Length; i++)
        {
            double weight = Math.Exp(say[i] - most);
            sum += weight * estimates[i];
            weights += weight;
        }

        double remainder = of.RestShift;
        for (int i = 0; i < inner.Length; i++)
            remainder += of.Rest[i] * inner[i];
        return (sum / weights) + (Remainder * remainder);
    }

    internal static LoudnessModel Parse(byte[] description)
    {
        using JsonDocument document = JsonDocument.Parse(description);
        return new LoudnessModel([.. Enum.GetNames<PieceFamily>().Take(ListenerModel.Families).Select(family => Read(document.RootElement.GetProperty(family.ToLowerInvariant())))]);

        static Family Read(JsonElement family) => new(
            Floats(family, "outer"), Floats(family, "outerShift"), Floats(family, "inner"), Floats(family, "innerShift"), Floats(family, "say"), Floats(family, "sayShift"), Floats(family, "rest"), Floats(family, "restShift")[0]);

        static float[] Floats(JsonElement family, string name) => [.. family.GetProperty(name).EnumerateArray().Select(value => value.GetSingle())];
    }

    private static void Layer(float[] weights, float[] shift, ReadOnlySpan<float> from, Span<float> to)
    {
        for (int i = 0; i < to.Length; i++)
            to[i] = shift[i] + TensorPrimitives.Dot(weights.AsSpan(i * from.Length, from.Length), from);
    }

    private static void Bend(Span<float> values)
    {
        for (int i = 0; i < values.Length; i++)
            values[i] = MathF.Tanh(values[i]);
    }

    /// <param name="Outer">A row of weights each hidden value; so the others.</param>
    private sealed record Family(float[] Outer, float[] OuterShift, float[] Inner, float[] InnerShift, float[] Say, float[] SayShift, float[] Rest, float RestShift);
}
