using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>How edits change single bars: joined, split, counted in another meter. Beats and their times stay; bars after it are numbered anew.</summary>
internal static class BarEdits
{
    public static ChartState Join(ChartState state, int first, int last)
    {
        List<Meter> bars = Bars(state.Performance.Pulse);
        int from = IndexOf(state.Performance.Pulse, bars, first);
        int to = IndexOf(state.Performance.Pulse, bars, last);
        if (to <= from)
            throw new InputException("Joining needs two bars or more, like 3-4.");
        Meter[] joined = [.. bars.GetRange(from, to - from + 1)];
        if (joined.Any(meter => meter.BeatLength != joined[0].BeatLength))
            throw new InputException($"Bars {first} to {last} are counted in different beats and make no bar together.");
        Meter whole = BarOf(joined.Sum(meter => meter.BeatsPerBar), joined[0]);
        bars.RemoveRange(from, joined.Length);
        bars.Insert(from, whole);
        return Rebar(state, bars);
    }

    public static ChartState Split(ChartState state, int bar, int afterBeat)
    {
        List<Meter> bars = Bars(state.Performance.Pulse);
        int index = IndexOf(state.Performance.Pulse, bars, bar);
        Meter whole = bars[index];
        if (afterBeat < 1 || afterBeat >= whole.BeatsPerBar)
            throw new InputException($"A bar of {whole} can be split after beat 1 to {whole.BeatsPerBar - 1}, not after {afterBeat}.");
        bars[index] = BarOf(afterBeat, whole);
        bars.Insert(index + 1, BarOf(whole.BeatsPerBar - afterBeat, whole));
        return Rebar(state, bars);
    }

    public static ChartState ChangeMeter(ChartState state, Meter meter, int first, int? last)
    {
        List<Meter> bars = Bars(state.Performance.Pulse);
        int from = IndexOf(state.Performance.Pulse, bars, first);
        int to = last is { } bar ? IndexOf(state.Performance.Pulse, bars, bar) : bars.Count - 1;
        if (to < from)
            throw new InputException($"Bar {last} does not come after bar {first}.");
        int beats = bars.GetRange(from, to - from + 1).Sum(old => old.BeatsPerBar);
        if (last is not null && beats % meter.BeatsPerBar != 0)
            throw new InputException($"The {beats} beats of bars {first} to {last} do not make whole bars of {meter}; take more bars, or split or join some first.");
        bars.RemoveRange(from, to - from + 1);
        bars.InsertRange(from, Enumerable.Repeat(meter, (beats + meter.BeatsPerBar - 1) / meter.BeatsPerBar));
        return Rebar(state, bars);
    }

    /// <summary>The meters of all bars that the pulse touches, from its first bar on.</summary>
    private static List<Meter> Bars(Pulse pulse) => [.. Enumerable.Range(pulse.FirstBar, pulse.LastBar - pulse.FirstBar + 1).Select(pulse.MeterAt)];

    private static int IndexOf(Pulse pulse, List<Meter> bars, int bar) => bar - pulse.FirstBar is var index && index >= 0 && index < bars.Count
        ? index
        : throw new InputException($"There is no bar {bar}; the passage's bars run from {pulse.FirstBar} to {pulse.LastBar}.");

    /// <summary>A bar of so many beats like those of another bar.</summary>
    private static Meter BarOf(int beats, Meter like)
    {
        int numerator = like.IsCompound ? 3 * beats : beats;
        if (numerator <= 32 && new Meter(numerator, like.Denominator) is var meter && meter.BeatsPerBar == beats && meter.BeatLength == like.BeatLength)
            return meter;
        throw new InputException($"A bar of {beats} {(beats == 1 ? "beat" : "beats")} of {like} has no time signature that is counted so.");
    }

    private static ChartState Rebar(ChartState state, List<Meter> bars)
    {
        Pulse old = state.Performance.Pulse;
        (int bar, int number) = (0, old.Beats[0].Number);
        for (; bar + 1 < bars.Count && number > bars[bar].BeatsPerBar; bar++)
            number -= bars[bar].BeatsPerBar;
        Meter first = bars[bar];
        var changes = new List<MeterChange>();
        for (int i = bar + 1; i < bars.Count; i++)
        {
            if (bars[i] != bars[i - 1])
                changes.Add(new MeterChange(old.FirstBar + i, bars[i]));
        }

        var beats = new List<Beat>(old.Beats.Count);
        foreach (Beat beat in old.Beats)
        {
            if (number > bars[Math.Min(bar, bars.Count - 1)].BeatsPerBar)
                (bar, number) = (bar + 1, 1);
            beats.Add(new Beat(beat.Time, old.FirstBar + bar, number++));
        }

        return PulseEdits.OnTheSameBeats(state, new Pulse(first, beats, old.Confidence, PulseSource.ByHand, changes));
    }
}
