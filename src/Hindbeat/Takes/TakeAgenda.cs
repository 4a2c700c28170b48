using System.Globalization;

namespace Hindbeat.Takes;

/// <summary>What of a take's advice is worked on now and what waits, in the words that every report uses.</summary>
/// <param name="Now">The most telling first; empty when nothing stands out.</param>
/// <param name="NothingNow">Said in place of an empty <paramref name="Now"/>; null when there is something.</param>
/// <param name="Later">What can wait, in one sentence; null when there is nothing.</param>
public sealed record TakeAgenda(IReadOnlyList<TakeAdvice> Now, string? NothingNow, string? Later)
{
    /// <summary>Nobody works on more at a time.</summary>
    private const int MostNow = 5;

    /// <summary>Of what can wait only the first are named.</summary>
    private const int MostLater = 6;

    /// <param name="advice">The most telling first, as a comparison gives it.</param>
    public static TakeAgenda Of(IReadOnlyList<TakeAdvice> advice)
    {
        ArgumentNullException.ThrowIfNull(advice);
        TakeAdvice[] telling = [.. advice.Where(one => one.IsTelling)];
        string[] later = [.. telling.Skip(MostNow).Concat(advice.Where(one => !one.IsTelling)).Select(one => one.Subject)];
        string? nothing = telling.Length > 0 ? null
            : later.Length > 0 ? "Nothing stands out; what differs is small."
            : "Nothing stands out: where take and passage differ, it is no more than chance shows.";
        return new TakeAgenda([.. telling.Take(MostNow)], nothing, later.Length == 0 ? null : Said(telling.Length == 0 ? "Small" : "For later", later));
    }

    private static string Said(string what, string[] subjects)
    {
        string more = subjects.Length > MostLater ? string.Create(CultureInfo.InvariantCulture, $"; and {subjects.Length - MostLater} more") : "";
        return $"{what}: {string.Join("; ", subjects.Take(MostLater))}{more}.";
    }
}
