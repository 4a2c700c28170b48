namespace Hindbeat.Listening;

/// <summary>A candidate with its description and the strength at which each atom explains it.</summary>
/// <param name="candidate">Where it is.</param>
/// <param name="atoms">How many atoms explain it.</param>
internal sealed class Moment(Candidate candidate, int atoms)
{
    private const float HidingRise = 0.4f;

    public Candidate Candidate { get; } = candidate;

    /// <summary>As <see cref="StrokeDescription"/> writes it.</summary>
    public float[] Heard { get; } = new float[StrokeDescription.Size];

    /// <summary>Power in each band just before.</summary>
    public float[] Before { get; } = new float[BandPowers.Bands];

    /// <summary>Stretches of <see cref="Heard"/> that no later stroke hides.</summary>
    public int Described { get; set; }

    /// <summary>The sum of <see cref="Heard"/>.</summary>
    public float Total { get; set; }

    /// <summary>One a template, in the units of <see cref="Heard"/>.</summary>
    public float[] Strengths { get; } = new float[atoms];

    /// <summary>Describes every candidate.</summary>
    public static Moment[] Describe(BandPowers powers, List<Candidate> candidates, int atoms)
    {
        Moment[] moments = new Moment[candidates.Count];
        for (int i = 0; i < moments.Length; i++)
        {
            Moment moment = moments[i] = new Moment(candidates[i], atoms);
            int next = Next(candidates, i);
            moment.Described = StrokeDescription.Describe(powers, candidates[i].Frame, candidates[i].LastFrame, next, moment.Heard, moment.Before);
            float total = 0;
            foreach (float value in moment.Heard)
                total += value;
            moment.Total = total;
        }

        return moments;
    }

    /// <summary>Weak candidates are mostly the unevenness of a decay: they hide nothing of a stroke before them.</summary>
    private static int Next(List<Candidate> candidates, int i)
    {
        for (int j = i + 1; j < candidates.Count; j++)
        {
            if (candidates[j].Rise >= HidingRise * candidates[i].Rise)
                return candidates[j].Frame;
        }

        return int.MaxValue;
    }
}
