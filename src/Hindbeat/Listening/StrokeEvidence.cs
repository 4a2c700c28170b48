using System.Numerics.Tensors;

namespace Hindbeat.Listening;

/// <summary>
/// What speaks for and against a stroke of a family at one moment, as plain numbers that do not depend on the
/// recording's loudness: the explanation's strengths beside what is usual here, shares of the sound, rises, decay.
/// </summary>
internal static class StrokeEvidence
{
    public const int Size = 16;

    /// <summary>A family's usual strength is that of its louder strokes: this quantile of all moments.</summary>
    private const double UsualQuantile = 0.9;

    /// <summary>A family that is hardly played must not make its leakage the measure: at least this share of the loudest family's.</summary>
    private const float LeastUsual = 0.05f;

    /// <summary>Natural logs are kept within this: e^−8 is −70 dB, nothing.</summary>
    private const float LeastLog = -8f;

    private const float MostShare = 2f;

    /// <summary>The sum of strengths of each family at a moment.</summary>
    public static void FamilyStrengths(Moment moment, StrokeFamily[] familyOfAtom, Span<float> strengths)
    {
        strengths.Clear();
        for (int k = 0; k < familyOfAtom.Length; k++)
            strengths[(int)familyOfAtom[k]] += moment.Strengths[k];
    }

    /// <summary>The usual strength of each family in this recording.</summary>
    public static float[] Usual(Moment[] moments, StrokeFamily[] familyOfAtom)
    {
        float[] usual = new float[StrokeFamilies.Count];
        float[] strengths = new float[StrokeFamilies.Count];
        float[][] all = [.. usual.Select(_ => new float[moments.Length])];
        for (int i = 0; i < moments.Length; i++)
        {
            FamilyStrengths(moments[i], familyOfAtom, strengths);
            for (int family = 0; family < usual.Length; family++)
                all[family][i] = strengths[family];
        }

        for (int family = 0; family < usual.Length; family++)
        {
            Array.Sort(all[family]);
            usual[family] = all[family][(int)Math.Ceiling(UsualQuantile * (moments.Length - 1))];
        }

        float least = Math.Max(1e-9f, TensorPrimitives.Max<float>(usual) * LeastUsual);
        for (int family = 0; family < usual.Length; family++)
            usual[family] = Math.Max(usual[family], least);
        return usual;
    }

    /// <param name="rises">Largest strength in the low, middle and high zone around the moment.</param>
    /// <param name="contribution">The family's part of the model, <see cref="StrokeDescription.Size"/> amplitudes.</param>
    /// <param name="evidence">Out: <see cref="Size"/> numbers.</param>
    public static void Gather(
        Moment moment, StrokeFamily family, ReadOnlySpan<float> strengths, float[] usual, ReadOnlySpan<float> rises, ReadOnlySpan<float> contribution, Span<float> evidence)
    {
        float all = TensorPrimitives.Sum(strengths) + 1e-9f;
        Range key = StrokeFamilies.KeyBands(family);
        ReadOnlySpan<float> heard = moment.Heard;
        float attack = KeySum(heard, 0, key);
        int next = 0;
        evidence[next++] = Log(strengths[(int)family] / usual[(int)family]);
        evidence[next++] = strengths[(int)family] / all;
        evidence[next++] = Share(KeySum(contribution, 0, key), attack);
        for (int zone = 0; zone < 3; zone++)
            evidence[next++] = rises[zone];
        for (int other = 0; other < StrokeFamilies.Count; other++)
        {
            if (other != (int)family)
                evidence[next++] = Log(strengths[other] / usual[other]);
        }

        evidence[next++] = moment.Described > 1 ? Log(KeySum(heard, 1, key) / (attack + 1e-9f)) : -0.7f;
        evidence[next++] = moment.Described > 2 ? Log(KeySum(heard, 2, key) / (attack + 1e-9f)) : -1.5f;
        evidence[next++] = Log(usual[(int)family] / TensorPrimitives.Max<float>(usual));
        evidence[next++] = Log(attack / (TensorPrimitives.Sum(heard[..BandPowers.Bands]) + 1e-9f));
        evidence[next++] = moment.Described > 1 ? Share(KeySum(contribution, 1, key), KeySum(heard, 1, key)) : 0.5f;
        evidence[next++] = Prominence(heard[..BandPowers.Bands][key], moment.Before.AsSpan()[key]);
        evidence[next] = Prominence(heard[..BandPowers.Bands], moment.Before);
    }

    private static float KeySum(ReadOnlySpan<float> amplitudes, int stretch, Range key) =>
        TensorPrimitives.Sum(amplitudes.Slice(stretch * BandPowers.Bands, BandPowers.Bands)[key]);

    /// <summary>A part of what was heard; a model may claim more than there was, but not without end.</summary>
    private static float Share(float part, float whole) => Math.Min(MostShare, part / (whole + 1e-9f));

    /// <summary>ln of the added power over the power that was there, at most ±8: steady noise has little of it.</summary>
    private static float Prominence(ReadOnlySpan<float> added, ReadOnlySpan<float> before) =>
        Math.Min(-LeastLog, Log(TensorPrimitives.SumOfSquares(added) / (TensorPrimitives.Sum(before) + 1e-12f)));

    private static float Log(float ratio) => Math.Max(LeastLog, MathF.Log(Math.Max(ratio, 1e-9f)));
}
