using System.Globalization;
using Hindbeat.Units;

namespace Hindbeat.Pulses;

/// <summary>Corrections in words, as the command line takes them.</summary>
public static class PulseCorrections
{
    /// <summary>"bpm 92", "halve", "bar-one 1.25", "beat 3.2=4.125", ...</summary>
    public static string Words(PulseCorrection correction) => correction switch
    {
        TempoStated stated => string.Create(CultureInfo.InvariantCulture, $"bpm {stated.Tempo.Value}"),
        TempoHalved => "halve",
        TempoDoubled => "double",
        BarOneSet set => string.Create(CultureInfo.InvariantCulture, $"bar-one {set.Time.TotalSeconds}"),
        MeterStated stated => $"meter {stated.Meter}",
        BeatMoved moved => string.Create(CultureInfo.InvariantCulture, $"beat {moved.Bar}.{moved.Beat}={moved.Time.TotalSeconds}"),
        ShapeStated stated => $"tempo {stated.Shape.ToString().ToLowerInvariant()}",
        _ => throw new ArgumentOutOfRangeException(nameof(correction), correction, "This correction has no words."),
    };

    /// <summary>Reads BAR.BEAT=SECONDS.</summary>
    /// <exception cref="FormatException">Not of that form.</exception>
    public static BeatMoved ParseBeat(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        string[] sides = text.Split('=');
        string[] place = sides[0].Split('.');
        if (sides.Length == 2 && place.Length == 2
            && int.TryParse(place[0], NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out int bar)
            && int.TryParse(place[1], NumberStyles.None, CultureInfo.InvariantCulture, out int beat)
            && double.TryParse(sides[1], NumberStyles.Float, CultureInfo.InvariantCulture, out double seconds) && double.IsFinite(seconds))
            return new BeatMoved(bar, beat, AudioTime.FromSeconds(seconds));
        throw new FormatException($"'{text}' is not a beat and a time; write bar.beat=seconds, like 3.2=4.125.");
    }
}
