using System.Globalization;

namespace Hindbeat.Units;

/// <summary>A count with its noun: "1 bar", "2.5 bars".</summary>
public static class NumberWords
{
    /// <param name="count">Not negative; said to a tenth.</param>
    public static string Bars(double count) => count.ToString("0.#", CultureInfo.InvariantCulture) is var number && number == "1" ? "1 bar" : $"{number} bars";
}
