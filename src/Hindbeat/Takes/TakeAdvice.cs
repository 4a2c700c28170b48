using System.Globalization;
using Hindbeat.Feel;

namespace Hindbeat.Takes;

/// <summary>One thing to work on.</summary>
/// <param name="Subject">What it is about, in a few words.</param>
/// <param name="Weight">How telling it is, 0 or more: 1 = about what listeners could tell, or one wrong stroke in five bars.</param>
/// <param name="Text">One to three sentences for a drummer: what is, what was asked, what to do, whether anyone could hear it.</param>
public sealed record TakeAdvice(string Subject, double Weight, string Text)
{
    /// <summary>Less telling things wait until the others are in hand: half of what listeners could tell, one wrong stroke in ten bars.</summary>
    internal const double LeastTelling = 0.5;

    private const double LevelStepDb = 3;

    /// <summary>Whether it is worth working on now.</summary>
    public bool IsTelling => Weight >= LeastTelling;

    /// <summary>Whether anyone could hear a difference of timing or level; empty when no study is known for it.</summary>
    /// <param name="times">How many times what listeners in a published study could tell (<see cref="FeelDifference.HeardFromTimes"/>).</param>
    public static string Heard(double? times) => times switch
    {
        null => "",
        >= 1 => "can be heard",
        >= 0.5 => "hard to hear",
        _ => "few would hear it",
    };

    internal static IReadOnlyList<TakeAdvice> Of(AlignedTake take, FeelReport original, FeelReport played, IReadOnlyList<FeelDifference> reported) =>
    [
        .. StrokeAdvice.Of(take, original.Options.Hearing is not null).Concat(reported.Select(one => OfFigure(one, original, played)).OfType<TakeAdvice>()).Concat(Touch(reported))
            .OrderByDescending(advice => advice.Weight),
    ];

    private static TakeAdvice? OfFigure(FeelDifference one, FeelReport original, FeelReport played)
    {
        double value = one.Difference.Value, weight = one.HeardFromTimes ?? 0;
        if (one.Kind == FeelFigures.Swing)
        {
            return new TakeAdvice($"swing of the {one.Subject}", weight, Say(
                $"Your {one.Subject} swing {one.Second.Value:0.00} : 1 ({one.Second.Low:0.00} to {one.Second.High:0.00}); the passage swings {one.First.Value:0.00} : 1 ({one.First.Low:0.00} to {one.First.High:0.00}). Let the off-beats come {(value < 0 ? "later" : "earlier")}{Aside(weight)}."));
        }

        if (one.Kind == FeelFigures.LayBack)
        {
            return new TakeAdvice($"the {one.Subject}'s place", weight, Say(
                $"Your {one.Subject} {Lies(one.Second, played.ReferenceName)}; the passage's {Lies(one.First, original.ReferenceName)}. Stroke against stroke yours comes {Math.Abs(value):0} ± {one.Difference.HalfWidth:0} ms {(value > 0 ? "later" : "earlier")}{Aside(weight)}: let it come {(value < 0 ? "later" : "earlier")}."));
        }

        if (one.Kind == FeelFigures.Habit)
        {
            return new TakeAdvice($"{one.Subject}", 0.8 * weight, Say(
                $"On {Place(one)} your {Piece(one)} comes {Math.Abs(value):0} ± {one.Difference.HalfWidth:0} ms {(value > 0 ? "later" : "earlier")} than the passage's, beyond what it does elsewhere in the bar{Aside(weight)}."));
        }

        if (one.Kind == FeelFigures.Looseness)
        {
            // Evener than the passage is no fault.
            return value <= 0 ? null : new TakeAdvice($"evenness of the {one.Subject}", 0.5 * value / one.First.Value, Say(
                $"Your {one.Subject} scatters by {one.First.Value + value:0.0} ms from stroke to stroke where the passage's scatters by {one.First.Value:0.0} ms. Slow down until it is as even."));
        }

        if (one.Kind == FeelFigures.Ghosts)
        {
            return new TakeAdvice($"ghosts of the {one.Subject}", Math.Abs(value) / 9, Say(
                $"Your {one.Subject}'s ghosts lie {one.Second.Value:0} dB below its full strokes, the passage's {one.First.Value:0} dB. Play them {(value < 0 ? "softer" : "louder")}."));
        }

        if (one.Kind == FeelFigures.Flams)
            return new TakeAdvice($"flams of the {one.Subject}", Math.Abs(value) / 25, Say($"Your {one.Subject}'s flams are {one.Second.Value:0} ms wide, the passage's {one.First.Value:0} ms."));
        return one.Kind == FeelFigures.Openness
            ? new TakeAdvice($"open hats on {one.Subject}", Math.Abs(value) / 100, Say($"On {one.Subject} your hat is open {one.Second.Value:0} % of the time, in the passage {one.First.Value:0} %."))
            : null;
    }

    /// <summary>A piece's accents are one thing to work on, however many places they are at.</summary>
    private static IEnumerable<TakeAdvice> Touch(IReadOnlyList<FeelDifference> reported)
    {
        foreach (var piece in reported.Where(one => one.Kind == FeelFigures.Accent && Math.Abs(one.Difference.Value) >= LevelStepDb).GroupBy(Piece))
        {
            string[] sides = [.. piece.GroupBy(one => one.Difference.Value > 0).OrderByDescending(side => side.Max(one => Math.Abs(one.Difference.Value))).Select(side =>
            {
                double least = side.Min(one => Math.Abs(one.Difference.Value)), most = side.Max(one => Math.Abs(one.Difference.Value));
                string by = Math.Round(least) == Math.Round(most) ? Say($"{most:0}") : Say($"{least:0} to {most:0}");
                return $"{(side.Key ? "louder" : "softer")} on {StrokeAdvice.List([.. side.Select(Place)])} (by {by} dB)";
            })];
            yield return new TakeAdvice($"touch of the {piece.Key}", piece.Max(one => Math.Abs(one.Difference.Value)) / 12, $"Against its other strokes your {piece.Key} is {string.Join(" and ", sides)} than in the passage.");
        }
    }

    private static string Piece(FeelDifference one) => one.Subject.Split(", ")[0];

    private static string Place(FeelDifference one) => one.Subject.Split(", ")[^1];

    private static string Aside(double times) => $" ({Heard(times)})";

    private static string Lies(Estimate ms, string reference) => (ms.Low <= 0 && ms.High >= 0) || Math.Abs(ms.Value) < 0.5
        ? Say($"is with the {reference} ({ms.Low:+0;−0;0} to {ms.High:+0;−0;0} ms)")
        : Say($"lies {Math.Abs(ms.Value):0} ± {ms.HalfWidth:0} ms {(ms.Value > 0 ? "behind" : "ahead of")} the {reference}");

    private static string Say(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
