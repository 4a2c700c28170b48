using System.Numerics.Tensors;

namespace Hindbeat.Listening;

/// <summary>
/// The passage up to the question "which families were struck when": candidates, described and explained by
/// templates adapted to the recording, with the evidence for each family.
/// </summary>
internal sealed class HeardMoments
{
    private HeardMoments(Moment[] moments, PieceTemplates templates, float[][] atoms, StrokeFamily[] families, float[] usual, OnsetStrength strength)
    {
        Moments = moments;
        Templates = templates;
        Atoms = atoms;
        Families = families;
        Usual = usual;
        Strength = strength;
    }

    public Moment[] Moments { get; }
    public PieceTemplates Templates { get; }

    /// <summary>The templates as adapted to the recording, in the order of <see cref="Templates"/>.</summary>
    public float[][] Atoms { get; }

    /// <summary>The family of each atom.</summary>
    public StrokeFamily[] Families { get; }

    /// <summary>See <see cref="StrokeEvidence.Usual"/>.</summary>
    public float[] Usual { get; }

    public OnsetStrength Strength { get; }

    public static HeardMoments Find(BandPowers powers, OnsetStrength strength, PieceTemplates templates, CancellationToken cancel)
    {
        Moment[] moments = Moment.Describe(powers, StrokeCandidates.Find(strength), templates.Atoms.Length);
        StrokeFamily[] families = [.. templates.Pieces.Select(StrokeFamilies.Of)];
        float[][] atoms = moments.Length == 0 ? templates.Atoms : RecordingTemplates.Adapt(templates, moments, cancel);
        float[] usual = moments.Length == 0 ? [] : StrokeEvidence.Usual(moments, families);
        return new HeardMoments(moments, templates, atoms, families, usual, strength);
    }

    /// <summary>Writes <see cref="StrokeEvidence.Size"/> numbers a family, family after family.</summary>
    public void Evidence(Moment moment, Span<float> evidence)
    {
        Span<float> strengths = stackalloc float[StrokeFamilies.Count];
        Span<float> rises = stackalloc float[3];
        Span<float> contribution = stackalloc float[StrokeDescription.Size];
        StrokeEvidence.FamilyStrengths(moment, Families, strengths);
        StrokeCandidates.Rises(Strength, moment.Candidate, rises);
        for (int family = 0; family < StrokeFamilies.Count; family++)
        {
            contribution.Clear();
            for (int k = 0; k < Atoms.Length; k++)
            {
                if ((int)Families[k] == family)
                    TensorPrimitives.MultiplyAdd(Atoms[k], moment.Strengths[k], contribution, contribution);
            }

            StrokeEvidence.Gather(moment, (StrokeFamily)family, strengths, Usual, rises, contribution, evidence.Slice(family * StrokeEvidence.Size, StrokeEvidence.Size));
        }
    }

    /// <summary>
    /// Power of a family's own part of a moment's attack (mean square; a full-scale sine has 0.5): what was heard there,
    /// shared among the families as the model has it.
    /// </summary>
    public double Power(Moment moment, StrokeFamily family)
    {
        Span<float> own = stackalloc float[BandPowers.Bands];
        Span<float> all = stackalloc float[BandPowers.Bands];
        own.Clear();
        all.Fill(1e-9f);
        for (int k = 0; k < Atoms.Length; k++)
        {
            ReadOnlySpan<float> attack = Atoms[k].AsSpan(0, BandPowers.Bands);
            TensorPrimitives.MultiplyAdd(attack, moment.Strengths[k], all, all);
            if (Families[k] == family)
                TensorPrimitives.MultiplyAdd(attack, moment.Strengths[k], own, own);
        }

        double power = 0;
        for (int band = 0; band < BandPowers.Bands; band++)
        {
            double part = moment.Heard[band] * own[band] / all[band];
            power += part * part;
        }

        return power;
    }
}
