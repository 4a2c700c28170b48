using Hindbeat.Performances;

namespace Hindbeat.Listening;

/// <summary>From moments to strokes: which families were struck at each, and which piece of the family.</summary>
internal static class StrokeSorter
{
    /// <summary>A family counts as struck from this probability on: about as many strokes are then wrongly added as missed.</summary>
    private const float LeastProbability = 0.5f;

    /// <summary>Metal from here on: at 0.5 four times as many hats were missed as wrongly added on rendered validation takes, most of them under snares.</summary>
    private const float LeastMetal = 0.35f;

    public static List<HeardStroke> Strokes(BandPowers powers, HeardMoments heard, StrokeJudge judge)
    {
        List<HeardStroke> strokes = [];
        Span<float> evidence = stackalloc float[StrokeFamilies.Count * StrokeEvidence.Size];
        for (int i = 0; i < heard.Moments.Length; i++)
        {
            Moment moment = heard.Moments[i];
            heard.Evidence(moment, evidence);
            for (int f = 0; f < StrokeFamilies.Count; f++)
            {
                StrokeFamily family = (StrokeFamily)f;
                float probability = judge.Probability(family, evidence.Slice(f * StrokeEvidence.Size, StrokeEvidence.Size));
                if (probability < (family == StrokeFamily.Metal ? LeastMetal : LeastProbability))
                    continue;
                long coarse = powers.FirstSample + ((long)moment.Candidate.FrameOf(family) * BandPowers.Hop);
                strokes.Add(new HeardStroke(i, coarse, family, Likeliest(heard, moment, family), probability));
            }
        }

        SortMetal(heard, strokes);
        return strokes;
    }

    /// <summary>The piece whose templates explain most of the family's part.</summary>
    private static KitPiece Likeliest(HeardMoments heard, Moment moment, StrokeFamily family)
    {
        Span<float> strengths = stackalloc float[KitPieces.All.Count];
        strengths.Clear();
        int best = -1;
        for (int k = 0; k < heard.Families.Length; k++)
        {
            if (heard.Families[k] != family)
                continue;
            int piece = (int)heard.Templates.Pieces[k];
            strengths[piece] += moment.Strengths[k];
            if (best < 0 || strengths[piece] > strengths[best])
                best = piece;
        }

        return (KitPiece)best;
    }

    private static void SortMetal(HeardMoments heard, List<HeardStroke> strokes)
    {
        int[] metal = [.. Enumerable.Range(0, strokes.Count).Where(i => strokes[i].Family == StrokeFamily.Metal)];
        KitPiece[] pieces = new MetalSorter([.. metal.Select(i => (MetalSound.Of(heard.Moments[strokes[i].Moment]), WithDrum(strokes, i)))]).Sort();
        for (int i = 0; i < metal.Length; i++)
            strokes[metal[i]] = strokes[metal[i]] with { Piece = pieces[i] };
    }

    /// <summary>Strokes of one moment lie side by side.</summary>
    private static bool WithDrum(List<HeardStroke> strokes, int i)
    {
        for (int j = Math.Max(0, i - 3); j <= Math.Min(strokes.Count - 1, i + 3); j++)
        {
            if (strokes[j].Moment == strokes[i].Moment && strokes[j].Family is StrokeFamily.Snare or StrokeFamily.Tom)
                return true;
        }

        return false;
    }
}
