using static Hindbeat.Feel.FeelWords;

namespace Hindbeat.Feel;

/// <summary>
/// Two passages side by side in plain sentences, one page: what differs for sure and by how much, the largest first in
/// units of what listeners could tell, then what is not told apart, then what makes the two hard to compare.
/// </summary>
public static class ComparisonWords
{
    /// <summary>Single places and windows fill tables; of those that differ for sure the page tells the largest few.</summary>
    private const int MostPlaces = 6;

    internal const string SurelyHeading = "They differ for sure:";
    internal const string NothingSure = "Nothing differs for sure; what differs by less than the intervals allow cannot be told.";

    public static IReadOnlyList<string> Describe(FeelComparisonResult comparison)
    {
        ArgumentNullException.ThrowIfNull(comparison);
        FeelDifference[] sure = [.. comparison.Differences.Where(difference => difference.IsSure)];
        FeelDifference[] told =
        [
            .. sure.Where(difference => !difference.Kind.IsDetailed),
            .. sure.Where(difference => difference.Kind.IsDetailed).OrderByDescending(difference => difference.HeardFromTimes ?? 0).Take(MostPlaces),
        ];
        var sentences = new List<string> { told.Length > 0 ? SurelyHeading : NothingSure };
        sentences.AddRange(told.OrderByDescending(difference => difference.HeardFromTimes ?? -1).Select(difference => difference.Text));
        int untold = sure.Length - told.Length;
        if (untold > 0)
            sentences.Add(Text($"{untold} more {(untold == 1 ? "figure of a single place differs" : "figures of single places differ")} for sure; the table has them."));
        string[] alike = [.. comparison.Differences.Where(difference => !difference.IsSure && !difference.Kind.IsDetailed)
            .GroupBy(difference => difference.Kind).Select(kind => $"{kind.Key.Name.ToLowerInvariant()} ({Listing(kind.Select(difference => difference.Subject))})")];
        if (alike.Length > 0)
            sentences.Add($"Not told apart: {string.Join("; ", alike)}.");
        if (sure.Length > 0)
            sentences.Add(Text($"Of {comparison.Differences.Count} figures compared about {Math.Max(1, comparison.Differences.Count / 20)} would differ by chance alone."));
        return [.. sentences, .. comparison.Doubts.Select(doubt => doubt.Text).Distinct()];
    }
}
