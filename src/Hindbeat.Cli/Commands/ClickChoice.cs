using System.CommandLine;
using System.Globalization;
using Hindbeat.Rebuilding;
using Hindbeat.Units;

namespace Hindbeat.Cli.Commands;

/// <summary>The options that say what click goes with a rebuild.</summary>
internal sealed class ClickChoice
{
    private readonly Option<int?> _countIn = SharedOptions.Whole("--count-in", "Bars of click before the music (in a set: before each version; there 1 unless given).", 0, ClickOptions.MostCountInBars);
    private readonly Option<int?> _click = SharedOptions.Whole("--click", "Click through the music, so many times a beat (1 to 4).", 1, ClickOptions.MostSubdivision);
    private readonly Option<bool> _backbeats = new("--click-backbeats") { Description = "Click only on the second, fourth … beat of the bar." };
    private readonly Option<string?> _gaps = new("--click-gaps") { Description = "Let the click drop out: 2:2 is two bars with it, two without.", HelpName = "ON:OFF" };
    private readonly Option<double?> _swing = SharedOptions.Number("--click-swing", "Swing of a click that divides the beat by 2 or 4, long : short.", 1, Dials.LargestRatio);
    private readonly Option<double?> _place = SharedOptions.Number("--click-place", "Where the click stands: -100 left, 0 middle, 100 right.", -100, 100);
    private readonly Option<double?> _gain = SharedOptions.Number("--click-gain", "Louder or softer click, dB.", -60, 24);
    private readonly Option<string?> _apart = new("--click-apart") { Description = "Write the click into a WAV file of its own, as long as the music.", HelpName = "FILE" };

    public IEnumerable<Option> All => [_countIn, _click, _backbeats, _gaps, _swing, _place, _gain, _apart];

    /// <summary>The file that the click goes into alone; null = into the music.</summary>
    public string? Apart(ParseResult parsed) => parsed.GetValue(_apart);

    /// <param name="sets">The options that bring a count-in along.</param>
    public void AddRules(OptionRules rules, params Option[] sets)
    {
        Option[] clicks = [_countIn, _click, _backbeats, _gaps];
        rules.Needs(_place, [.. clicks, .. sets]);
        rules.Needs(_gain, [.. clicks, .. sets]);
        rules.Needs(_apart, clicks);
        rules.Needs(_swing, _click);
        foreach (Option set in sets)
            rules.Excludes(set, [_apart]);
    }

    /// <param name="countIn">Bars of count-in when none are asked for.</param>
    /// <exception cref="InputException">The gaps cannot be read.</exception>
    public ClickOptions Read(ParseResult parsed, int countIn)
    {
        (int on, int off) = Gaps(parsed.GetValue(_gaps));
        if (parsed.GetValue(_swing) is not null && parsed.GetValue(_click) is not (2 or 4))
            throw new InputException("--click-swing has no effect on a click that does not divide the beat by 2 or 4; write --click 2.");
        return new ClickOptions
        {
            CountInBars = parsed.GetValue(_countIn) ?? countIn,
            Through = parsed.GetValue(_click) is not null || parsed.GetValue(_backbeats) || on > 0,
            Subdivision = parsed.GetValue(_click) ?? 1,
            OnlyBackbeats = parsed.GetValue(_backbeats),
            BarsOn = on,
            BarsOff = off,
            Swing = parsed.GetValue(_swing) ?? 1,
            Place = (parsed.GetValue(_place) ?? 0) / 100,
            GainDb = parsed.GetValue(_gain) ?? 0,
        };
    }

    private static (int On, int Off) Gaps(string? text)
    {
        if (text is null)
            return (0, 0);
        string[] parts = text.Split(':');
        return parts.Length == 2
            && int.TryParse(parts[0], NumberStyles.None, CultureInfo.InvariantCulture, out int on)
            && int.TryParse(parts[1], NumberStyles.None, CultureInfo.InvariantCulture, out int off) && on > 0 && off > 0
            ? (on, off)
            : throw new InputException($"--click-gaps: '{text}' does not fit; write bars with click and bars without, like 2:2.");
    }
}
