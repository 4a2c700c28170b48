namespace Hindbeat.Pulses;

/// <summary>
/// Which strokes sound together: a kick under a crash is one moment of the bar, however far apart its two limbs land, and is written once.
/// </summary>
/// <param name="MomentOf">Each stroke's moment; −1 for grace strokes, which belong to their main stroke.</param>
/// <param name="Count">How many moments there are.</param>
internal sealed record StrokeMoments(int[] MomentOf, int Count)
{
    /// <summary>Limbs that mean one moment land within this, seconds: a fast single-stroke roll has 60 ms between strokes, and its hands alternate (common practice, no source).</summary>
    private const double Together = 0.035;

    /// <summary>Never longer than this share of a beat.</summary>
    private const double TogetherShare = 0.08;

    /// <param name="times">Seconds, each voice's lay-back taken out.</param>
    /// <param name="main">Each stroke's main stroke; its own index when it is none of a flam or drag.</param>
    public static StrokeMoments Of(StrokeTrain strokes, double[] times, int[] main, double beatSeconds)
    {
        double longest = Math.Min(Together, TogetherShare * beatSeconds);
        int[] order = [.. Enumerable.Range(0, strokes.Count).Where(i => main[i] == i)];
        Array.Sort(Array.ConvertAll(order, i => times[i]), order);
        int[] moment = new int[strokes.Count];
        Array.Fill(moment, -1);
        int count = 0;
        for (int k = 0; k < order.Length; count++)
        {
            double start = times[order[k]];
            int limbs = 0;
            for (; k < order.Length && times[order[k]] - start <= longest && (limbs & LimbOf(strokes, order[k])) == 0; k++)
            {
                limbs |= LimbOf(strokes, order[k]);
                moment[order[k]] = count;
            }
        }

        return new StrokeMoments(moment, count);
    }

    /// <summary>A bit a limb or drum; two strokes of one are two moments.</summary>
    private static int LimbOf(StrokeTrain strokes, int stroke) => strokes.VoiceOf[stroke] switch
    {
        Voice.Kick => 1,
        Voice.Backbeat or Voice.GhostSnare => 2,
        Voice.LoudTime or Voice.SoftTime => 4,
        Voice.PedalHat => 8,
        Voice.Crash => 16,
        _ => 32,
    };
}
