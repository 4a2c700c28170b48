using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>Which of three sounds a click has.</summary>
public enum ClickKind
{
    First,
    Beat,
    Between,
}

/// <summary>One click.</summary>
/// <param name="Time">When it begins.</param>
/// <param name="Place">−1 = hard left, 1 = hard right.</param>
public readonly record struct PlannedClick(AudioTime Time, ClickKind Kind, double Place, double GainDb);

/// <summary>Where the clicks fall on a pulse: they follow its tempo, breath and all.</summary>
public static class ClickTrack
{
    /// <param name="pulse">The rebuild's own (see <see cref="RebuildTempo.PulseOf"/>).</param>
    /// <param name="bars">How many whole bars click after the count-in; null = to the pulse's end.</param>
    /// <exception cref="InputException">An option is outside its range.</exception>
    public static IReadOnlyList<PlannedClick> Make(Pulse pulse, ClickOptions options, int? bars = null)
    {
        ArgumentNullException.ThrowIfNull(pulse);
        ArgumentNullException.ThrowIfNull(options);
        options.Check();
        int first = FirstBarLine(pulse), firstBar = FirstWholeBar(pulse);
        int countIn = options.CountInBars * pulse.MeterAt(firstBar).BeatsPerBar;
        int through = !options.Through ? 0
            : bars is { } wanted ? (int)pulse.BeatsFromFirst(new BarPosition(firstBar + wanted, 1, Fraction.Zero)).Floor() - first
            : pulse.Beats.Count - first;
        var clicks = new List<PlannedClick>();
        for (int beat = -countIn; beat < through; beat++)
        {
            // Each bar is counted in its own meter; the count-in in that of the bar it leads to.
            BarPosition place = beat < 0 ? new BarPosition(0, 1 + ((beat + countIn) % (countIn / options.CountInBars)), Fraction.Zero) : pulse.PositionAt(new Fraction(first + beat));
            int inBar = place.Beat - 1;
            if (beat >= 0 && (IsDroppedOut(place.Bar - firstBar, options) || (options.OnlyBackbeats && inBar % 2 == 0)))
                continue;
            // A count-in counts beats; subdivisions belong to the music.
            int parts = beat < 0 || options.OnlyBackbeats ? 1 : options.Subdivision;
            for (int part = 0; part < parts; part++)
            {
                ClickKind kind = part > 0 ? ClickKind.Between : inBar == 0 && options.AccentFirst ? ClickKind.First : ClickKind.Beat;
                AudioTime time = pulse.TimeAt(first + beat + PlaceOf(part, parts, options.Swing));
                clicks.Add(new PlannedClick(time, kind, options.Place, options.GainDb));
            }
        }

        return clicks;
    }

    /// <summary>When the count-in begins; the first bar's beginning when there is none.</summary>
    public static AudioTime StartOf(Pulse pulse, ClickOptions options)
    {
        ArgumentNullException.ThrowIfNull(pulse);
        ArgumentNullException.ThrowIfNull(options);
        return pulse.TimeAt((double)FirstBarLine(pulse) - (options.CountInBars * pulse.MeterAt(FirstWholeBar(pulse)).BeatsPerBar));
    }

    /// <summary>Beats from the pulse's first one to the first whole bar.</summary>
    internal static int FirstBarLine(Pulse pulse) => pulse.Beats[0].Number == 1 ? 0 : pulse.MeterAt(pulse.FirstBar).BeatsPerBar - pulse.Beats[0].Number + 1;

    private static int FirstWholeBar(Pulse pulse) => pulse.Beats[0].Number == 1 ? pulse.FirstBar : pulse.FirstBar + 1;

    private static bool IsDroppedOut(int bar, ClickOptions options) =>
        options.BarsOff > 0 && bar % (options.BarsOn + options.BarsOff) >= options.BarsOn;

    /// <summary>Share of the beat; the second of each pair lies at R/(1+R) of the pair. Triplets do not swing.</summary>
    private static double PlaceOf(int part, int parts, double swing)
    {
        if (part % 2 == 0 || parts == 3)
            return (double)part / parts;
        double pair = 2.0 / parts;
        return (part / 2 * pair) + (pair * swing / (1 + swing));
    }
}
