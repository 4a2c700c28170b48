using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Takes;

/// <summary>
/// How much later a stroke is taken down than it was played: by a recording, measured by playing clicks and hearing them back, or by an
/// electronic kit, from the stroke to its MIDI.
/// </summary>
/// <param name="Delay">Taken down − played, positive = late: to be taken off every time.</param>
/// <param name="Uncertainty">Half of the delay's 95 % interval.</param>
/// <param name="Spread">Standard deviation of one click or stroke about the delay.</param>
/// <param name="Clicks">How many clicks were heard back, or strokes heard; 0 = not measured here but stated.</param>
public sealed record Latency(Seconds Delay, Seconds Uncertainty, Seconds Spread, int Clicks, IReadOnlyList<Doubt> Doubts)
{
    /// <summary>Whether it is an electronic kit's own delay, from stroke to MIDI, not a recording's.</summary>
    public bool OfKit { get; init; }

    public override string ToString() => string.Create(
        CultureInfo.InvariantCulture, $"{Delay.Milliseconds:0.0} ± {Uncertainty.Milliseconds:0.0} ms ({Clicks} clicks, each within {Spread.Milliseconds:0.0} ms)");
}

/// <summary>The way from loudspeaker to recording is not the same for every click.</summary>
public sealed record LatencyWanders(Seconds Spread) : Doubt
{
    public override string Text => string.Create(
        CultureInfo.InvariantCulture, $"The delay differs by {Spread.Milliseconds:0.0} ms from click to click; close other programs and measure again, or use a cable from output to input.");
}

/// <summary>Many clicks were played and not heard back.</summary>
public sealed record ClicksLost(int Played, int Heard) : Doubt
{
    public override string Text => $"Only {Heard} of {Played} clicks were heard back; turn them up, or hold the microphone nearer.";
}

/// <summary>
/// The take's recording delay from a row of clicks: the clicks to play, and what the moments at which they were heard say.
/// </summary>
public static class LatencyCalibration
{
    /// <summary>Fewer clicks heard back say too little.</summary>
    public const int FewestClicks = 6;

    private const int Clicks = 24;
    private const double ShortestGap = 0.30, GapStep = 0.017;

    /// <summary>A longer way than this is no recording delay.</summary>
    private const double LongestDelay = 1.5;

    /// <summary>Clicks heard within so much of one delay belong to it, seconds.</summary>
    private const double Same = 0.012;

    private const double SteadyMs = 2;
    private const double LeastShare = 0.7;

    /// <summary>
    /// When to play the clicks, from the first: gaps that all differ, so that no delay lays one click on another's place
    /// more than once.
    /// </summary>
    public static IReadOnlyList<Seconds> Plan { get; } = MakePlan();

    /// <summary>Measures the delay.</summary>
    /// <param name="played">When each click was sent out.</param>
    /// <param name="heard">Onsets in the recording, same clock; other sounds may be among them.</param>
    /// <exception cref="InputException">Too few clicks came back at one delay.</exception>
    public static Latency Measure(IReadOnlyList<AudioTime> played, IReadOnlyList<AudioTime> heard)
    {
        ArgumentNullException.ThrowIfNull(played);
        ArgumentNullException.ThrowIfNull(heard);
        double[] delays = [.. played.SelectMany(_ => heard, (sent, back) => (back - sent).Value).Where(delay => delay is > -Same and < LongestDelay).Order()];
        (double from, int most) = (0, 0);
        for (int low = 0, high = 0; low < delays.Length; low++)
        {
            while (high < delays.Length && delays[high] <= delays[low] + (2 * Same))
                high++;
            if (high - low > most)
                (from, most) = (delays[low], high - low);
        }

        double[] one = [.. played.Select(sent => Nearest(heard, sent, from + Same)).OfType<double>().Where(delay => Math.Abs(delay - from - Same) <= Same).Order()];
        if (one.Length < FewestClicks)
            throw new InputException($"Only {one.Length} of {played.Count} clicks came back at one delay; at least {FewestClicks} are needed. Is the right input chosen, and loud enough?");
        DelaySpread found = DelaySpread.Of(one);
        var doubts = new List<Doubt>();
        if (found.Deviation * 1000 > SteadyMs)
            doubts.Add(new LatencyWanders(Seconds.Of(found.Deviation)));
        if (found.Kept < LeastShare * played.Count)
            doubts.Add(new ClicksLost(played.Count, found.Kept));
        return new Latency(Seconds.Of(found.Mean), Seconds.Of(found.HalfWidth), Seconds.Of(found.Deviation), found.Kept, doubts);
    }

    private static double? Nearest(IReadOnlyList<AudioTime> heard, AudioTime sent, double delay)
    {
        double? nearest = null;
        foreach (AudioTime back in heard)
        {
            double found = (back - sent).Value;
            if (nearest is null || Math.Abs(found - delay) < Math.Abs(nearest.Value - delay))
                nearest = found;
        }

        return nearest;
    }

    private static List<Seconds> MakePlan()
    {
        var plan = new List<Seconds>();
        double time = 0;
        for (int i = 0; i < Clicks; i++)
        {
            plan.Add(Seconds.Of(time));
            // 7 has no factor in common with 23: every gap length is used once, in a scattered order.
            time += ShortestGap + (GapStep * (7 * i % (Clicks - 1)));
        }

        return plan;
    }
}
