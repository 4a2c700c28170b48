namespace Hindbeat.Pulses;

/// <summary>
/// A passage folded onto one bar under a reading: in how many bars each voice strikes at each slot.
/// </summary>
internal sealed class BarCounts
{
    private readonly SlottedStrokes _strokes;
    private readonly long _downbeat;
    private long[]? _slotOf;

    private BarCounts(SlottedStrokes strokes, long downbeat, int slots)
    {
        _strokes = strokes;
        _downbeat = downbeat;
        Slots = slots;
        Struck = new int[StrokeTrain.Voices * slots];
        Bars = new int[slots];
    }

    /// <summary>Slots of the bar.</summary>
    public int Slots { get; }

    /// <summary>[voice × slots + slot]: bars in which it was struck.</summary>
    public int[] Struck { get; }

    /// <summary>[slot]: bars of the passage that hold this slot; differs by one where the passage starts or ends mid-bar.</summary>
    public int[] Bars { get; }

    /// <summary>Each stroke's slot, counted from the downbeat.</summary>
    public long[] SlotOf => _slotOf ??= _downbeat == 0 ? _strokes.SlotOf : Array.ConvertAll(_strokes.SlotOf, slot => slot - _downbeat);

    /// <summary>See <see cref="SlottedStrokes.TimingLog"/>.</summary>
    public double TimingLog => _strokes.TimingLog;

    /// <summary>See <see cref="IntervalEvidence"/>.</summary>
    public double[] Intervals => _strokes.Intervals;

    /// <param name="places">Each stroke's place in base beats.</param>
    /// <param name="beat">Length of the reading's beat in base beats.</param>
    /// <param name="downbeat">A downbeat's place in base beats.</param>
    /// <param name="beatSeconds">Mean length of the reading's beat.</param>
    public static BarCounts Of(StrokeTrain strokes, double[] places, double beat, double downbeat, int beatsPerBar, double beatSeconds) =>
        Of(SlottedStrokes.Of(strokes, places, beat, downbeat, new BarSlots(beatSeconds)), beatsPerBar);

    /// <summary>Folded from a downbeat at slot 0.</summary>
    public static BarCounts Of(SlottedStrokes strokes, int beatsPerBar)
    {
        BarCounts counts = new(strokes, 0, beatsPerBar * BarSlots.PerBeat);
        for (int i = 0; i < strokes.Distinct; i++)
            counts.Struck[(strokes.Voices[i] * counts.Slots) + (int)Within(strokes.Slots[i], counts.Slots)]++;
        long first = strokes.SlotOf[0];
        long last = strokes.SlotOf[^1];
        for (int slot = 0; slot < counts.Slots; slot++)
            counts.Bars[slot] = Math.Max(1, (int)(FloorDivide(last - slot, counts.Slots) - FloorDivide(first - 1 - slot, counts.Slots)));
        for (int cell = 0; cell < counts.Struck.Length; cell++)
            counts.Struck[cell] = Math.Min(counts.Struck[cell], counts.Bars[cell % counts.Slots]);
        return counts;
    }

    /// <summary>The same folded from a downbeat so many beats later (0 or more).</summary>
    public BarCounts Later(int beats)
    {
        int by = beats * BarSlots.PerBeat;
        BarCounts turned = new(_strokes, _downbeat + by, Slots);
        int start = by % Slots;
        for (int voice = 0; voice < StrokeTrain.Voices; voice++)
            Turn(Struck.AsSpan(voice * Slots, Slots), turned.Struck.AsSpan(voice * Slots, Slots), start);
        Turn(Bars, turned.Bars, start);
        return turned;
    }

    private static void Turn(ReadOnlySpan<int> from, Span<int> to, int start)
    {
        from[start..].CopyTo(to);
        from[..start].CopyTo(to[(from.Length - start)..]);
    }

    private static long Within(long slot, int slots) => ((slot % slots) + slots) % slots;

    private static long FloorDivide(long a, long b) => (a / b) - (a % b < 0 ? 1 : 0);
}
