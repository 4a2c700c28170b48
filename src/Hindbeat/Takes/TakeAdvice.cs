using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Takes;

/// <summary>One thing to work on.</summary>
/// <param name="Weight">How telling it is; 1 = about what listeners could tell, or one stroke in ten wrong.</param>
/// <param name="Text">One or two sentences for a drummer: what is, what was asked, what to do.</param>
public sealed record TakeAdvice(string Subject, double Weight, string Text)
{
    /// <summary>A slot left out or added in at least this share of its turns is worth a word.</summary>
    private const double OftenWrong = 0.25;

    /// <summary>At least so many times: once is a slip.</summary>
    private const int MoreThanASlip = 2;

    private const double LevelStepDb = 3;

    internal static IReadOnlyList<TakeAdvice> Of(AlignedTake take, FeelReport original, FeelReport played, IReadOnlyList<FeelDifference> reported) =>
        [.. Strokes(take).Concat(reported.Select(one => OfFigure(one, original, played)).OfType<TakeAdvice>()).OrderByDescending(advice => advice.Weight)];

    private static TakeAdvice? OfFigure(FeelDifference one, FeelReport original, FeelReport played)
    {
        double value = one.Difference.Value;
        if (one.Kind == FeelFigures.Swing)
        {
            return new TakeAdvice($"swing of the {one.Subject}", one.HeardFromTimes ?? 0, Say(
                $"Your {one.Subject} swing {one.Second.Value:0.00} : 1 ({one.Second.Low:0.00} to {one.Second.High:0.00}); the passage swings {one.First.Value:0.00} : 1 ({one.First.Low:0.00} to {one.First.High:0.00}). Let the off-beats come {(value < 0 ? "later" : "earlier")}."));
        }

        if (one.Kind == FeelFigures.LayBack)
        {
            return new TakeAdvice($"the {one.Subject}'s place", one.HeardFromTimes ?? 0, Say(
                $"Your {one.Subject} {Lies(one.Second, played.ReferenceName)}; in the passage it {Lies(one.First, original.ReferenceName)}. Let it come {(value < 0 ? "later" : "earlier")}, by about {Math.Abs(value):0} ms."));
        }

        if (one.Kind == FeelFigures.Habit)
        {
            return new TakeAdvice($"{one.Subject}", 0.8 * (one.HeardFromTimes ?? 0), Say(
                $"On {one.Subject.Split(", ")[^1]} your {one.Subject.Split(", ")[0]} comes {Math.Abs(value):0} ms {(value > 0 ? "later" : "earlier")} than the passage's, beyond what it does elsewhere in the bar."));
        }

        if (one.Kind == FeelFigures.Looseness)
        {
            // Evener than the passage is no fault.
            return value <= 0 ? null : new TakeAdvice($"evenness of the {one.Subject}", 0.5 * ((one.Second.Value / one.First.Value) - 1), Say(
                $"Your {one.Subject} scatters by {one.Second.Value:0.0} ms from stroke to stroke, the passage's by {one.First.Value:0.0} ms. Slow down until it is as even."));
        }

        if (one.Kind == FeelFigures.Accent)
        {
            return Math.Abs(value) < LevelStepDb ? null : new TakeAdvice($"touch: {one.Subject}", Math.Abs(value) / 12, Say(
                $"Your {one.Subject.Split(", ")[0]} on {one.Subject.Split(", ")[^1]} is {Math.Abs(value):0} dB {(value > 0 ? "louder" : "softer")} against its other strokes than in the passage."));
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

    /// <summary>Strokes that are left out, added or moved again and again at one place of the bar.</summary>
    private static IEnumerable<TakeAdvice> Strokes(AlignedTake take)
    {
        var missed = take.Missed.Select(one => (one.Reference.Piece, Slot: Slot(one.Reference))).Concat(take.Moved.Select(one => (one.Reference.Piece, Slot: Slot(one.Reference))));
        var asked = take.Pairs.Select(one => (one.Reference.Piece, Slot: Slot(one.Reference))).Concat(missed).GroupBy(one => one).ToDictionary(group => group.Key, group => group.Count());
        foreach (var group in take.Missed.GroupBy(one => (one.Reference.Piece, Slot: Slot(one.Reference))))
        {
            if (Often(group.Count(), asked[group.Key]))
                yield return new TakeAdvice($"{Name(group.Key)}", Share(group.Count(), asked[group.Key]), Say($"The {Name(group.Key)} is missing {Times(group.Count())} of {asked[group.Key]}."));
        }

        foreach (var group in take.Moved.GroupBy(one => (one.Reference.Piece, Slot: Slot(one.Reference))))
        {
            if (Often(group.Count(), asked[group.Key]))
            {
                double beats = group.Average(one => one.Beats);
                yield return new TakeAdvice($"{Name(group.Key)}", Share(group.Count(), asked[group.Key]), Say(
                    $"The {Name(group.Key)} is played {Math.Abs(beats):0.00} beats {(beats > 0 ? "too late" : "too early")} {Times(group.Count())} of {asked[group.Key]}: at another place of the bar."));
            }
        }

        double bars = Math.Max(1, take.Performance.Pulse.LastBar - take.Performance.Pulse.FirstBar);
        foreach (var group in take.Extra.Where(hit => hit.Position is not null).GroupBy(hit => (hit.Piece, Slot: Slot(hit))))
        {
            if (Often(group.Count(), bars))
                yield return new TakeAdvice($"{Name(group.Key)}", Share(group.Count(), bars), Say($"The {Name(group.Key)} is played {Times(group.Count())} where the passage has none."));
        }

        foreach (var group in take.Pairs.Where(one => one.OnOtherPiece).GroupBy(one => (one.Reference.Piece, Played: one.Take.Piece)))
        {
            int all = take.Pairs.Count(one => one.Reference.Piece == group.Key.Piece);
            if (Often(group.Count(), all))
                yield return new TakeAdvice($"{group.Key.Piece.Name()} on the {group.Key.Played.Name()}", Share(group.Count(), all), Say(
                    $"You play the {group.Key.Piece.Name()} on the {group.Key.Played.Name()} {Times(group.Count())} of {all}."));
        }
    }

    private static (int Beat, Fraction Within) Slot(Hit hit) => (hit.Position!.Value.Beat, hit.Position!.Value.Within);

    private static string Name((KitPiece Piece, (int Beat, Fraction Within) Slot) one) => $"{one.Piece.Name()} on {FeelFigures.Count(one.Slot.Beat, one.Slot.Within)}";

    private static bool Often(int count, double all) => count >= MoreThanASlip && count >= OftenWrong * all;

    /// <summary>A stroke wrong every time weighs as much as a difference of five times what listeners could tell.</summary>
    private static double Share(int count, double all) => 5 * Math.Min(1, count / all);

    private static string Times(int count) => count == 1 ? "once" : count == 2 ? "twice" : count.ToString(CultureInfo.InvariantCulture) + " times";

    private static string Lies(Estimate ms, string reference) => (ms.Low <= 0 && ms.High >= 0) || Math.Abs(ms.Value) < 0.5
        ? Say($"is with the {reference} ({ms.Low:+0;−0;0} to {ms.High:+0;−0;0} ms)")
        : Say($"lies {Math.Abs(ms.Value):0} ± {ms.HalfWidth:0} ms {(ms.Value > 0 ? "behind" : "ahead of")} the {reference}");

    private static string Say(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
