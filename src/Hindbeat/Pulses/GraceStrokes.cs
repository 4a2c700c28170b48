using Hindbeat.Performances;

namespace Hindbeat.Pulses;

/// <summary>
/// Flams and drags: soft strokes just before a louder one on the same drum. They are written as grace notes at their
/// main stroke's place, so they must find no place of their own.
/// </summary>
internal static class GraceStrokes
{
    /// <summary>A single stroke can follow another of the same hand pair as fast as this in a roll; closer ones are flams and drags (common practice, no source).</summary>
    private const double LongestGrace = 0.055;

    /// <summary>Never longer than this share of a beat: at 200 bpm a 32nd is 37 ms.</summary>
    private const double LongestShare = 0.11;

    /// <summary>For each hit the index of its main stroke, or its own index.</summary>
    /// <param name="hits">Sorted by time.</param>
    public static int[] MainStrokeOf(IReadOnlyList<Hit> hits, double beatSeconds)
    {
        double longest = Math.Min(LongestGrace, LongestShare * beatSeconds);
        int[] main = new int[hits.Count];
        for (int i = hits.Count - 1; i >= 0; i--)
        {
            main[i] = i;
            if (hits[i].Piece.Family() is not (PieceFamily.Snare or PieceFamily.Tom))
                continue;
            for (int j = i + 1; j < hits.Count && (hits[j].Time - hits[i].Time).Value <= longest; j++)
            {
                bool softer = hits[i].Velocity < 0.85 * hits[j].Velocity;
                bool marked = (hits[j].Marks & (HitMarks.Flam | HitMarks.Drag)) != 0;
                if (hits[j].Piece.Family() == hits[i].Piece.Family() && (softer || marked))
                {
                    // A drag is two graces: the first leads to the stroke that the second leads to.
                    main[i] = main[j];
                    break;
                }
            }
        }

        return main;
    }
}
