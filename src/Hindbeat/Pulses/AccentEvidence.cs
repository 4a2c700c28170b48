namespace Hindbeat.Pulses;

/// <summary>
/// How loud the foot and the time-keeping hand are where in the bar: what tells the bar line, and half of a tempo from the whole, where patterns are silent.
/// </summary>
/// <remarks>Mean accent (<see cref="StrokeTrain.Accents"/>, spreads of the limb's own velocity) at a place less the mean elsewhere.</remarks>
internal static class AccentEvidence
{
    public static readonly string[] Names = ["time louder on beats", "time louder on even beats", "time louder on one", "kick louder on beats", "kick louder on one"];

    /// <summary>So many strokes without an accent are added to each mean.</summary>
    private const double Drawn = 3;

    /// <summary>Sum and count of accents.</summary>
    private readonly record struct Accents(double Sum, int Count)
    {
        public Accents With(double accent) => new(Sum + accent, Count + 1);

        public double Above(Accents all) => (Sum / (Count + Drawn)) - ((all.Sum - Sum) / (all.Count - Count + Drawn));
    }

    /// <summary>A limb's accents by place.</summary>
    private struct Limb
    {
        public Accents All;
        public Accents Beats;
        public Accents EvenBeats;
        public Accents One;

        public void Add(int slot, double accent)
        {
            All = All.With(accent);
            int beat = Math.DivRem(slot, BarSlots.PerBeat, out int within);
            if (within != 0)
                return;
            Beats = Beats.With(accent);
            if (beat % 2 == 1)
                EvenBeats = EvenBeats.With(accent);
            else if (beat == 0)
                One = One.With(accent);
        }
    }

    /// <summary>Numbers in the order of <see cref="Names"/>.</summary>
    /// <param name="slots">Each stroke's slot counted from a downbeat, as <see cref="BarCounts.SlotOf"/>.</param>
    public static double[] Of(StrokeTrain strokes, long[] slots, int beatsPerBar)
    {
        int perBar = beatsPerBar * BarSlots.PerBeat;
        Limb hand = default;
        Limb foot = default;
        for (int i = 0; i < slots.Length; i++)
        {
            int slot = (int)(((slots[i] % perBar) + perBar) % perBar);
            if (strokes.VoiceOf[i] == Voice.Kick)
                foot.Add(slot, strokes.Accents[i]);
            else if (strokes.VoiceOf[i] is Voice.LoudTime or Voice.SoftTime)
                hand.Add(slot, strokes.Accents[i]);
        }

        return [hand.Beats.Above(hand.All), hand.EvenBeats.Above(hand.Beats), hand.One.Above(hand.Beats), foot.Beats.Above(foot.All), foot.One.Above(foot.All)];
    }
}
