using System.Globalization;
using Hindbeat.Units;

namespace Hindbeat.Bench.Desk;

/// <summary>
/// The one time axis that waveform, strokes and playhead share: 0 % is the passage's start, 100 % its
/// end. Percentages, not pixels, so that the picture fits any width without being drawn again.
/// </summary>
public readonly record struct PassageAxis(AudioTime From, AudioTime To)
{
    public double PercentAt(AudioTime time) => 100.0 * ((time - From) / (To - From));

    /// <summary>For an SVG attribute or a style.</summary>
    public string At(AudioTime time) => PercentAt(time).ToString("0.###", CultureInfo.InvariantCulture) + "%";

    public bool Shows(AudioTime time) => time >= From && time <= To;
}
