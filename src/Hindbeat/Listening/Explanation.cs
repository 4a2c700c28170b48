using System.Numerics.Tensors;

namespace Hindbeat.Listening;

/// <summary>
/// Explains a description as a sum of atoms, each played at some strength ≥ 0: several pieces at once are the
/// normal case. Minimises the generalised Kullback-Leibler divergence by multiplicative updates.
/// </summary>
/// <remarks>
/// D. Lee, H. Seung, Algorithms for non-negative matrix factorization, NIPS 2000 (from memory), with a mask for
/// stretches that the next stroke hides and a penalty on the sum of strengths, so that one piece is preferred to two
/// that together do little better. Holds its work space: one instance a thread.
/// </remarks>
internal sealed class Explanation
{
    private const float Tiny = 1e-9f;

    /// <summary>After this many rounds an atom that carries less than <see cref="Nothing"/> of the whole is left out: it never comes back and costs as much as the others.</summary>
    private const int SettleRounds = 6;
    private const float Nothing = 0.002f;
    private readonly float[] _modelled = new float[StrokeDescription.Size];
    private readonly float[] _ratio = new float[StrokeDescription.Size];
    private readonly float[] _total = new float[256];

    /// <param name="atoms">Each of <see cref="StrokeDescription.Size"/> values; at most 256.</param>
    /// <param name="heard">The description; only its first <paramref name="described"/> stretches are looked at.</param>
    /// <param name="penalty">Cost of strength, relative to an atom's sum.</param>
    /// <param name="strengths">In: start values (0 stays 0). Out: one strength an atom.</param>
    public void Solve(float[][] atoms, ReadOnlySpan<float> heard, int described, int rounds, float penalty, Span<float> strengths)
    {
        int size = described * BandPowers.Bands;
        heard = heard[..size];
        Span<float> ratio = _ratio.AsSpan(0, size);
        for (int k = 0; k < atoms.Length; k++)
            _total[k] = TensorPrimitives.Sum<float>(atoms[k].AsSpan(0, size)) + penalty;
        for (int round = 0; round < rounds; round++)
        {
            if (round == SettleRounds)
                LeaveOut(strengths);
            ReadOnlySpan<float> modelled = Model(atoms, strengths, size);
            TensorPrimitives.Divide(heard, modelled, ratio);
            for (int k = 0; k < atoms.Length; k++)
            {
                if (strengths[k] > 0)
                    strengths[k] *= TensorPrimitives.Dot<float>(atoms[k].AsSpan(0, size), ratio) / _total[k];
            }
        }
    }

    private static void LeaveOut(Span<float> strengths)
    {
        float least = TensorPrimitives.Sum<float>(strengths) * Nothing;
        for (int k = 0; k < strengths.Length; k++)
        {
            if (strengths[k] < least)
                strengths[k] = 0;
        }
    }

    /// <summary>The sum of the atoms at their strengths, never quite 0; valid until the next call.</summary>
    public ReadOnlySpan<float> Model(float[][] atoms, ReadOnlySpan<float> strengths, int size)
    {
        Span<float> modelled = _modelled.AsSpan(0, size);
        modelled.Fill(Tiny);
        for (int k = 0; k < atoms.Length; k++)
        {
            if (strengths[k] > 0)
                TensorPrimitives.MultiplyAdd(atoms[k].AsSpan(0, size), strengths[k], modelled, modelled);
        }

        return modelled;
    }
}
