using System.Numerics.Tensors;

namespace Hindbeat.Pulses;

/// <summary>
/// How far apart strokes of one role lie in a reading's beats, and which parts of the beat are used: what tells half of a tempo from the
/// whole (backbeats come every two beats, a hand plays eighths or sixteenths) and triplets from dotted pairs.
/// </summary>
internal static class IntervalEvidence
{
    public static readonly string[] Names =
    [
        "backbeats one beat apart", "backbeats two beats apart", "backbeats three beats apart", "backbeats four beats apart", "ln seconds between backbeats",
        "time a quarter apart", "time a third apart", "time a half apart", "time a beat apart", "time two beats apart", "time two thirds apart",
        "kicks two beats apart", "kicks four beats apart",
        "on beats", "on halves", "on quarters", "on thirds", "on sixths", "on eighths",
        "weight on beats", "weight on halves", "thirds and quarters",
    ];

    /// <summary>Which of the numbers is the ln of seconds between backbeats.</summary>
    public const int BetweenBackbeats = 4;

    /// <summary>Numbers in the order of <see cref="Names"/>.</summary>
    /// <param name="slots">Each stroke's slot counted from a downbeat, as <see cref="BarCounts.SlotOf"/>.</param>
    public static double[] Of(StrokeTrain strokes, long[] slots)
    {
        List<double> between = [];
        double[] backbeats = Shares(strokes, slots, voice => voice == Voice.Backbeat, [12, 24, 36, 48], between);
        between.Sort();
        double seconds = between.Count == 0 ? 0 : Math.Log(Math.Max(0.05, between[between.Count / 2]));
        double[] time = Shares(strokes, slots, voice => voice is Voice.LoudTime or Voice.SoftTime, [3, 4, 6, 12, 24, 8]);
        double[] kicks = Shares(strokes, slots, voice => voice == Voice.Kick, [24, 48]);
        double[] used = new double[6];
        double weightOnBeats = 0.1;
        double weightOnHalves = 0.1;
        double weight = 1;
        for (int i = 0; i < slots.Length; i++)
        {
            long within = ((slots[i] % BarSlots.PerBeat) + BarSlots.PerBeat) % BarSlots.PerBeat;
            used[within switch { 0 => 0, 6 => 1, 3 or 9 => 2, 4 or 8 => 3, 2 or 10 => 4, _ => 5 }]++;
            weight += strokes.Weights[i];
            if (within == 0)
                weightOnBeats += strokes.Weights[i];
            else if (within == 6)
                weightOnHalves += strokes.Weights[i];
        }

        for (int k = 0; k < used.Length; k++)
            used[k] /= slots.Length;
        return
        [
            .. backbeats, seconds, .. time, .. kicks, .. used, weightOnBeats / weight, weightOnHalves / weight, 10 * used[2] * used[3],
        ];
    }

    /// <summary>Of the intervals between following strokes of a role, how many span so many slots.</summary>
    /// <param name="seconds">Where the intervals' lengths are added, if anywhere.</param>
    private static double[] Shares(StrokeTrain strokes, long[] slots, Func<Voice, bool> chosen, int[] spans, List<double>? seconds = null)
    {
        double[] counts = new double[spans.Length];
        int intervals = 0;
        int last = -1;
        for (int i = 0; i < slots.Length; i++)
        {
            if (!chosen(strokes.VoiceOf[i]) || (last >= 0 && slots[i] == slots[last]))
                continue;
            if (last >= 0)
            {
                int span = Array.IndexOf(spans, (int)Math.Min(int.MaxValue, slots[i] - slots[last]));
                if (span >= 0)
                    counts[span]++;
                intervals++;
                seconds?.Add(strokes.Times[i] - strokes.Times[last]);
            }

            last = i;
        }

        TensorPrimitives.Divide(counts, intervals + 1.0, counts);
        return counts;
    }
}
