using System.Numerics.Tensors;

namespace Hindbeat.Listening;

/// <summary>
/// Brings generic templates to one recording: first its overall colour (microphones, room, mixing: one gain a band),
/// then the sound of each piece, as far as the recording's own strokes speak for it.
/// </summary>
/// <remarks>
/// The second step is the update of the basis in non-negative matrix factorisation (Lee and Seung 2000) with a
/// prior: each generic atom counts as <see cref="PriorStrokes"/> strokes, so a piece that is hardly played keeps its
/// generic sound. Every stroke counts alike, soft or loud.
/// </remarks>
internal static class RecordingTemplates
{
    private const int ColourSteps = 3;
    private const int AdaptSteps = 3;
    private const int Rounds = 20;

    /// <summary>At most this many moments, spread over the passage, teach the templates: more change nothing but the time it takes.</summary>
    private const int MostMoments = 250;

    /// <summary>±14 dB a band: more than any mixing does to drums on purpose (common practice, no source).</summary>
    private const float MostColour = 5f;

    public const float PriorStrokes = 6f;
    public const float Penalty = 0.02f;

    /// <summary>Returns atoms of the same pieces, adapted; the moments' strengths are left explained by them.</summary>
    public static float[][] Adapt(PieceTemplates templates, Moment[] moments, CancellationToken cancel)
    {
        Moment[] teachers = Spread(moments);
        float[] colour = new float[BandPowers.Bands];
        Array.Fill(colour, 1f);
        float[][] atoms = Coloured(templates.Atoms, colour);
        Explanation explanation = new();
        for (int step = 0; step < ColourSteps; step++)
        {
            cancel.ThrowIfCancellationRequested();
            Explain(explanation, atoms, teachers);
            UpdateColour(explanation, atoms, teachers, colour);
            atoms = Coloured(templates.Atoms, colour);
        }

        float[][] prior = Coloured(templates.Atoms, colour);
        for (int step = 0; step < AdaptSteps; step++)
        {
            cancel.ThrowIfCancellationRequested();
            Explain(explanation, atoms, teachers);
            UpdateAtoms(explanation, atoms, prior, teachers);
        }

        Explain(explanation, atoms, moments);
        return atoms;
    }

    private static Moment[] Spread(Moment[] moments)
    {
        if (moments.Length <= MostMoments)
            return moments;
        Moment[] some = new Moment[MostMoments];
        for (int i = 0; i < some.Length; i++)
            some[i] = moments[(int)((long)i * moments.Length / some.Length)];
        return some;
    }

    private static float[][] Coloured(float[][] atoms, float[] colour) =>
        [.. atoms.Select(atom => atom.Select((value, i) => value * colour[i % BandPowers.Bands]).ToArray())];

    private static void Explain(Explanation explanation, float[][] atoms, Moment[] moments)
    {
        foreach (Moment moment in moments)
        {
            moment.Strengths.AsSpan().Fill(Math.Max(moment.Total, 1e-9f) / atoms.Length);
            explanation.Solve(atoms, moment.Heard, moment.Described, Rounds, Penalty, moment.Strengths);
        }
    }

    private static void UpdateColour(Explanation explanation, float[][] atoms, Moment[] moments, float[] colour)
    {
        float[] heard = new float[BandPowers.Bands];
        float[] modelled = new float[BandPowers.Bands];
        foreach (Moment moment in moments)
        {
            if (moment.Total <= 0)
                continue;
            int size = moment.Described * BandPowers.Bands;
            ReadOnlySpan<float> model = explanation.Model(atoms, moment.Strengths, size);
            for (int i = 0; i < size; i++)
            {
                heard[i % BandPowers.Bands] += moment.Heard[i] / moment.Total;
                modelled[i % BandPowers.Bands] += model[i] / moment.Total;
            }
        }

        for (int band = 0; band < colour.Length; band++)
            colour[band] = Math.Clamp(colour[band] * (heard[band] + 1e-6f) / (modelled[band] + 1e-6f), 1 / MostColour, MostColour);
    }

    private static void UpdateAtoms(Explanation explanation, float[][] atoms, float[][] prior, Moment[] moments)
    {
        float[][] sum = [.. atoms.Select(_ => new float[StrokeDescription.Size])];
        float[] weight = new float[StrokeDescription.Size];
        float[] ratio = new float[StrokeDescription.Size];
        float[][] weights = [.. atoms.Select(_ => new float[StrokeDescription.StretchCount])];
        foreach (Moment moment in moments)
        {
            if (moment.Total <= 0)
                continue;
            int size = moment.Described * BandPowers.Bands;
            TensorPrimitives.Divide(moment.Heard.AsSpan(0, size), explanation.Model(atoms, moment.Strengths, size), ratio.AsSpan(0, size));
            for (int k = 0; k < atoms.Length; k++)
            {
                float count = moment.Strengths[k] / moment.Total;
                if (count < 0.01f)
                    continue;
                TensorPrimitives.MultiplyAdd(ratio.AsSpan(0, size), count, sum[k].AsSpan(0, size), sum[k].AsSpan(0, size));
                for (int stretch = 0; stretch < moment.Described; stretch++)
                    weights[k][stretch] += count;
            }
        }

        for (int k = 0; k < atoms.Length; k++)
        {
            for (int i = 0; i < weight.Length; i++)
            {
                float strokes = weights[k][i / BandPowers.Bands];
                atoms[k][i] = ((PriorStrokes * prior[k][i]) + (atoms[k][i] * sum[k][i])) / (PriorStrokes + strokes);
            }
        }
    }
}
