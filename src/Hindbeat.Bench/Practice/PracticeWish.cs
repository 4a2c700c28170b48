using System.Globalization;
using Hindbeat.Bench.Desk;
using Hindbeat.Rebuilding;
using Hindbeat.Takes;
using Hindbeat.Units;
using Microsoft.AspNetCore.Http;

namespace Hindbeat.Bench.Practice;

/// <summary>What a take is to be played over, as an address carries it, and what is known of its delay.</summary>
/// <param name="Delay">The recording's, or the kit's own; null = not known; differences between pieces do not need it.</param>
public sealed record PracticeWish(PlayAlongOptions Options, Latency? Delay)
{
    /// <exception cref="InputException">Something is no number, or out of range.</exception>
    public static PracticeWish Read(IQueryCollection query)
    {
        if (!Enum.TryParse(query["over"], ignoreCase: true, out PlayAlongOver over) || !Enum.IsDefined(over))
            throw new InputException("A take is played over a click, a rebuild, the recording or nothing.");
        var options = new PlayAlongOptions
        {
            Over = over,
            Share = Number(query, "share", 1),
            CountInBars = (int)Number(query, "countin", 1),
            Rounds = (int)Number(query, "rounds", 4),
            FirstBar = query.ContainsKey("first") ? (int)Number(query, "first", 1) : null,
            LastBar = query.ContainsKey("last") ? (int)Number(query, "last", 1) : null,
            Dials = DialAddress.Read(query),
        };
        return new PracticeWish(options, DelayOf(query));
    }

    /// <exception cref="InputException">It is no delay that could be measured.</exception>
    internal static Latency? DelayOf(IQueryCollection query)
    {
        const double longestMs = 1500, widestMs = 100;
        if (!query.ContainsKey("delay"))
            return null;
        double delay = Number(query, "delay", 0), within = Number(query, "within", 0);
        if (!(delay >= -50 && delay <= longestMs && within >= 0 && within <= widestMs))
            throw new InputException(FormattableString.Invariant($"A delay of {delay:0.0} ± {within:0.0} ms is none that could be measured; measure it again."));
        return new Latency(Seconds.FromMilliseconds(delay), Seconds.FromMilliseconds(within), Seconds.FromMilliseconds(Number(query, "spread", 0)), (int)Number(query, "clicks", 0), []);
    }

    private static double Number(IQueryCollection query, string name, double otherwise)
    {
        if (!query.TryGetValue(name, out var text))
            return otherwise;
        return double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double number) && double.IsFinite(number) && Math.Abs(number) < 1e6
            ? number
            : throw new InputException($"'{name}' is no number.");
    }
}
