namespace Hindbeat.Pulses;

/// <summary>
/// A passage folded onto one bar under a reading: in how many bars each voice strikes at each slot.
/// </summary>
internal sealed class BarCounts
{
    private BarCounts(int slots, int strokes)
    {
        Slots = slots;
        Struck = new int[StrokeTrain.Voices * slots];
        Bars = new int[slots];
        SlotOf = new long[strokes];
    }

    /// <summary>Slots of the bar.</summary>
    public int Slots { get; }

    /// <summary>[voice × slots + slot]: bars in which it was struck.</summary>
    public int[] Struck { get; }

    /// <summary>[slot]: bars of the passage that hold this slot; differs by one where the passage starts or ends mid-bar.</summary>
    public int[] Bars { get; }

    /// <summary>Each stroke's slot, counted from the downbeat given.</summary>
    public long[] SlotOf { get; }

    /// <summary>ln density of the strokes' times about their slots, with time in seconds, so that readings of different tempi compare.</summary>
    public double TimingLog { get; private set; }

    /// <param name="places">Each stroke's place in base beats.</param>
    /// <param name="beat">Length of the reading's beat in base beats.</param>
    /// <param name="downbeat">A downbeat's place in base beats.</param>
    /// <param name="beatSeconds">Mean length of the reading's beat.</param>
    public static BarCounts Of(StrokeTrain strokes, double[] places, double beat, double downbeat, int beatsPerBar, double beatSeconds)
    {
        BarCounts counts = new(beatsPerBar * BarSlots.PerBeat, strokes.Count);
        long[] lastBar = new long[counts.Struck.Length];
        Array.Fill(lastBar, long.MinValue);
        BarSlots slots = new(beatSeconds);
        for (int i = 0; i < places.Length; i++)
        {
            (long slot, double logDensity) = slots.Find((places[i] - downbeat) / beat);
            counts.SlotOf[i] = slot;
            long bar = FloorDivide(slot, counts.Slots);
            int cell = ((int)strokes.VoiceOf[i] * counts.Slots) + (int)(slot - (bar * counts.Slots));
            if (lastBar[cell] == bar)
                continue;
            lastBar[cell] = bar;
            counts.Struck[cell]++;
            counts.TimingLog += logDensity;
        }

        long first = counts.SlotOf[0];
        long last = counts.SlotOf[^1];
        for (int slot = 0; slot < counts.Slots; slot++)
            counts.Bars[slot] = Math.Max(1, (int)(FloorDivide(last - slot, counts.Slots) - FloorDivide(first - 1 - slot, counts.Slots)));
        for (int cell = 0; cell < counts.Struck.Length; cell++)
            counts.Struck[cell] = Math.Min(counts.Struck[cell], counts.Bars[cell % counts.Slots]);
        return counts;
    }

    private static long FloorDivide(long a, long b) => (a / b) - (a % b < 0 ? 1 : 0);
}
