using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>What stays of a feel when a rebuild runs at another tempo.</summary>
public enum FeelScale
{
    /// <summary>Shares of a beat: everything is stretched alike, swing ratios stay, milliseconds grow as beats do.</summary>
    ByBeat,

    /// <summary>Milliseconds: lay-back, habits and chance stay as long as they were, and so does the swing's delay; ratios change.</summary>
    ByTime,
}

/// <summary>How a rebuild's time axis runs against the recording's.</summary>
public static class RebuildTempo
{
    /// <summary>Length of a rebuilt beat over that of a played one: 2 = half as fast.</summary>
    public static double Stretch(Performance performance, Dials dials)
    {
        ArgumentNullException.ThrowIfNull(performance);
        ArgumentNullException.ThrowIfNull(dials);
        return dials.TempoTo is { } tempo ? performance.Pulse.MeanTempo.Value / tempo.Value : 1;
    }

    /// <summary>The beats of a rebuild: between played and steady as the tempo dial says, at the tempo that is set.</summary>
    public static Pulse PulseOf(Performance performance, Dials dials)
    {
        double stretch = Stretch(performance, dials);
        Pulse played = performance.Pulse;
        double first = played.Beats[0].Time.TotalSeconds;
        double steady = played.MeanTempo.Beat.Value;
        return new Pulse(
            played.Meter,
            [.. played.Beats.Select((beat, i) => beat with
            {
                Time = AudioTime.FromSeconds(first + (stretch * ((i * steady * (1 - dials.Tempo)) + (dials.Tempo * (beat.Time.TotalSeconds - first))))),
            })],
            played.Confidence,
            played.Source);
    }

    /// <summary>Where a moment of the recording outside the beats (the passage's start) lies in the rebuild: as far from the first beat, stretched.</summary>
    public static AudioTime TimeOf(Performance performance, Dials dials, AudioTime recorded)
    {
        double stretch = Stretch(performance, dials);
        AudioTime first = performance.Pulse.Beats[0].Time;
        return first + (stretch * (recorded - first));
    }
}
