namespace Hindbeat.Bench.Desk;

/// <summary>What an id in an address may look like.</summary>
internal static class StudyId
{
    private const int LongestId = 64;

    public static bool IsOne(string text) =>
        text.Length is > 0 and <= LongestId && text.All(c => char.IsAsciiLetterOrDigit(c) || c is '-' or '_');
}
