namespace Hindbeat.Pulses;

/// <summary>
/// The strokes of a passage on the slots of one length of beat, counted from one beat: what all readings that count these beats share,
/// however many of them make a bar and whichever of them is one.
/// </summary>
internal sealed class SlottedStrokes
{
    private readonly StrokeTrain _strokes;
    private double[]? _intervals;

    private SlottedStrokes(StrokeTrain strokes)
    {
        _strokes = strokes;
        SlotOf = new long[strokes.Count];
        Voices = new byte[strokes.Count];
        Slots = new long[strokes.Count];
    }

    /// <summary>Each stroke's slot.</summary>
    public long[] SlotOf { get; }

    /// <summary>Voice and slot of what is struck, a voice counting once a slot; the first <see cref="Distinct"/> are used.</summary>
    public byte[] Voices { get; }

    public long[] Slots { get; }

    public int Distinct { get; private set; }

    /// <summary>ln density of the strokes' times about their slots, with time in seconds, so that readings of different tempi compare.</summary>
    public double TimingLog { get; private set; }

    /// <summary>See <see cref="IntervalEvidence"/>: the same wherever the bar starts.</summary>
    public double[] Intervals => _intervals ??= IntervalEvidence.Of(_strokes, SlotOf);

    /// <param name="places">Each stroke's place in base beats, ascending.</param>
    /// <param name="beat">Length of the counted beat in base beats.</param>
    /// <param name="origin">Where slot 0 lies, in base beats.</param>
    public static SlottedStrokes Of(StrokeTrain strokes, double[] places, double beat, double origin, BarSlots slots)
    {
        SlottedStrokes slotted = new(strokes);
        Span<long> last = stackalloc long[StrokeTrain.Voices];
        last.Fill(long.MinValue);
        for (int i = 0; i < places.Length; i++)
        {
            (long slot, double logDensity) = slots.Find((places[i] - origin) / beat);
            slotted.SlotOf[i] = slot;
            int voice = (int)strokes.VoiceOf[i];
            if (last[voice] == slot)
                continue;
            last[voice] = slot;
            slotted.Voices[slotted.Distinct] = (byte)voice;
            slotted.Slots[slotted.Distinct++] = slot;
            slotted.TimingLog += logDensity;
        }

        return slotted;
    }
}
