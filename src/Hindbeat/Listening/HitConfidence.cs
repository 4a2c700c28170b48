namespace Hindbeat.Listening;

/// <summary>From the network's certainty to a probability that means what it says: of hits at 0.9, nine in ten are right.</summary>
/// <remarks>
/// Straight lines between points measured on rendered takes of two kits that the network never heard (ForzeeStereo and the
/// room view of L. Muldjord's kit, 17,000 strokes, right = one of the family within 50 ms): the network doubts too little
/// under 0.65 and too much above 0.75. The points were set by eye after real recordings had been looked at too: docs/decisions/listening-learned.md.
/// </remarks>
internal static class HitConfidence
{
    private static readonly (double Certainty, double Right)[] Points =
        [(0, 0), (0.5, 0.35), (0.555, 0.44), (0.65, 0.62), (0.76, 0.82), (0.86, 0.96), (0.93, 0.99), (0.97, 0.999), (1, 0.999)];

    public static double Of(double certainty)
    {
        for (int i = 1; i < Points.Length; i++)
        {
            (double from, double low) = Points[i - 1];
            (double to, double high) = Points[i];
            if (certainty <= to)
                return low + ((high - low) * Math.Max(0, certainty - from) / (to - from));
        }

        return Points[^1].Right;
    }
}
