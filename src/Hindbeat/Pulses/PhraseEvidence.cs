namespace Hindbeat.Pulses;

/// <summary>
/// What the ends of a passage and its strongest marks say of the bar line: where its first stroke falls, whether it is a whole number of four or eight bars
/// long, and where kick and crash are struck as one.
/// </summary>
/// <remarks>Parts of four and eight bars, and a kick under the crash that opens one: common practice, no source.</remarks>
internal static class PhraseEvidence
{
    public static readonly string[] Names = ["starts on three", "starts in the last beat", "whole four bars", "whole eight bars", "crash with kick on one", "crash with kick on three"];

    /// <summary>A crash with a kick is drawn to any beat alike as if half a one had been heard.</summary>
    private const double Drawn = 0.5;

    /// <summary>The last stroke stands this long before the end of the last bar at most, in slots; a crash on the next one may close it.</summary>
    private const int LastBeat = BarSlots.PerBeat * 5 / 4;

    /// <summary>Numbers in the order of <see cref="Names"/>.</summary>
    /// <param name="slots">Each stroke's slot counted from a downbeat, as <see cref="BarCounts.SlotOf"/>.</param>
    public static double[] Of(StrokeTrain strokes, long[] slots, int beatsPerBar)
    {
        int perBar = beatsPerBar * BarSlots.PerBeat;
        int half = beatsPerBar / 2 * BarSlots.PerBeat;
        long start = Within(slots[0], perBar);
        // A pickup of half a bar or less stands before the first bar.
        long firstBar = slots[0] - start + (start >= perBar - half ? perBar : 0);
        long length = slots[^1] - firstBar;
        (double onOne, double onHalf) = CrashesWithKick(strokes, slots, perBar, half, beatsPerBar);
        return [start == half ? 1 : 0, start >= perBar - BarSlots.PerBeat ? 1 : 0, IsWhole(length, 4 * perBar), IsWhole(length, 8 * perBar), onOne, onHalf];
    }

    /// <summary>1 when the passage ends in the last beat of such a part, or in the first one after it.</summary>
    private static double IsWhole(long length, long part)
    {
        long parts = (length + (part / 2)) / part;
        long over = length - (parts * part);
        return parts > 0 && over > -LastBeat && over < BarSlots.PerBeat ? 1 : 0;
    }

    /// <summary>Of the beats on which kick and crash are struck together, the shares on one and in the middle of the bar.</summary>
    private static (double OnOne, double OnHalf) CrashesWithKick(StrokeTrain strokes, long[] slots, int perBar, int half, int beatsPerBar)
    {
        double all = Drawn;
        double onOne = Drawn / beatsPerBar;
        double onHalf = onOne;
        for (int i = 0; i < slots.Length;)
        {
            long slot = slots[i];
            bool kick = false;
            bool crash = false;
            for (; i < slots.Length && slots[i] == slot; i++)
            {
                kick |= strokes.VoiceOf[i] == Voice.Kick;
                crash |= strokes.VoiceOf[i] == Voice.Crash;
            }

            long within = Within(slot, perBar);
            if (!kick || !crash || within % BarSlots.PerBeat != 0)
                continue;
            all++;
            onOne += within == 0 ? 1 : 0;
            onHalf += within == half ? 1 : 0;
        }

        return (onOne / all, onHalf / all);
    }

    private static long Within(long slot, int perBar) => ((slot % perBar) + perBar) % perBar;
}
