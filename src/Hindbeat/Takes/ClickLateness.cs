using System.Globalization;
using Hindbeat.Feel;

namespace Hindbeat.Takes;

/// <summary>How late a take's whole kit is against what it was played to, and what was taken off for it to be told.</summary>
/// <param name="Late">ms, positive = late; its 95 % interval holds the delay's uncertainty.</param>
/// <param name="DelayMs">The delay that was taken off.</param>
/// <param name="WithinMs">Half of the delay's 95 % interval; 0 = none was stated.</param>
/// <param name="OfKit">Whether it is an electronic kit's own delay, from stroke to MIDI, not a recording's.</param>
public sealed record ClickLateness(Estimate Late, double DelayMs, double WithinMs, bool OfKit)
{
    /// <summary>One sentence.</summary>
    public string Text => string.Create(CultureInfo.InvariantCulture,
        $"Against what it was played to, the kit lies {Late.Value:+0.0;−0.0;0.0} ms ({Late.Low:+0.0;−0.0;0.0} to {Late.High:+0.0;−0.0;0.0}); {Way} of {DelayMs:0.0;−0.0} ms{Within} is taken off.");

    private string Way => OfKit ? "the kit's own delay (stroke to MIDI)" : "the recording delay";

    private string Within => WithinMs > 0
        ? string.Create(CultureInfo.InvariantCulture, $" ± {WithinMs:0.0} ms (in the interval)")
        : ", taken as exact,";
}
