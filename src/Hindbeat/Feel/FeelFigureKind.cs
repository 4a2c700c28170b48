using System.Globalization;
using Hindbeat.Performances;

namespace Hindbeat.Feel;

/// <summary>One line of a table of figures.</summary>
/// <param name="Subject">What is measured, in words: "16ths, all", "kick", "snare, beat 2".</param>
/// <param name="Strokes">How many strokes it rests on; 0 when the figure rests on the whole passage.</param>
/// <param name="Known">False when the recording cannot tell (the value is then the sum that is known).</param>
public sealed record FeelLine(string Subject, Estimate Value, int Strokes, bool Known, string Verdict, IReadOnlyList<Doubt> Doubts);

/// <summary>A kind of figure, declared once; the console, the pages and the documentation read it from here.</summary>
/// <param name="Id">Short and stable; also the name of its page under docs/measures.</param>
/// <param name="Unit">"ratio", "ms", "dBFS", "bpm/min".</param>
/// <param name="Decimals">Digits after the point that the figure deserves.</param>
/// <param name="ShowsSign">True when a plus sign says something (late, faster).</param>
/// <param name="Explanation">One sentence for a drummer.</param>
public sealed record FeelFigureKind(
    string Id, string Name, string Unit, int Decimals, bool ShowsSign, string Explanation, Func<FeelReport, IEnumerable<FeelLine>> Lines)
{
    /// <summary>True when there is a line for each place of the bar or window of bars: many lines, for a second table.</summary>
    public bool IsDetailed { get; init; }

    /// <summary>A value as this figure is printed: "1.62", "+18.0".</summary>
    public string Format(double value)
    {
        string digits = Decimals == 0 ? "0" : "0." + new string('0', Decimals);
        double rounded = Math.Round(value, Decimals, MidpointRounding.AwayFromZero);
        return ShowsSign && rounded != 0
            ? rounded.ToString($"+{digits};−{digits}", CultureInfo.InvariantCulture)
            : Math.Abs(rounded) == 0 ? 0.0.ToString(digits, CultureInfo.InvariantCulture) : rounded.ToString($"{digits};−{digits}", CultureInfo.InvariantCulture);
    }

    /// <summary>"1.58 to 1.66".</summary>
    public string FormatInterval(Estimate estimate) => $"{Format(estimate.Low)} to {Format(estimate.High)}";
}
