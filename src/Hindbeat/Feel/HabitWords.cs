using Hindbeat.Performances;
using static Hindbeat.Feel.FeelWords;

namespace Hindbeat.Feel;

/// <summary>The places that stand out most, in sentences; only those that are sure and can be habits at all.</summary>
internal static class HabitWords
{
    private const int MostHabits = 3;

    /// <summary>
    /// A groove has some thirty places, and one in twenty 95 % intervals misses zero by chance; a habit is told
    /// only when it is 1.5 half widths from zero (about one chance in 300).
    /// </summary>
    private const double SureHabit = 1.5;

    /// <summary>Half a 16th, in beats: a stroke farther off belongs to the next written place.</summary>
    private const double HalfA16th = 0.125;

    public static IEnumerable<string> Sure(FeelReport report) => Certain(report)
        .Where(place => !Displaced(report, place))
        .OrderByDescending(place => Math.Min(Math.Abs(place.Habit.Low), Math.Abs(place.Habit.High)))
        .Take(MostHabits)
        .Select(place => Text($"On {FeelFigures.Count(place.Beat, place.Within)} the {place.Piece.Name()} comes {Math.Abs(place.Habit.Value):0.0} ms {(place.Habit.Value > 0 ? "later" : "earlier")} than elsewhere, again and again ({place.Habit.Low:+0.0;−0.0;0.0} to {place.Habit.High:+0.0;−0.0;0.0} ms)."));

    /// <summary>A "habit" of more than half a 16th is a stroke written at the wrong place, not a way of playing.</summary>
    public static IEnumerable<string> Unsure(FeelReport report) => Certain(report)
        .Where(place => Displaced(report, place))
        .Select(place => Text($"On {FeelFigures.Count(place.Beat, place.Within)} the {place.Piece.Name()} lies {Math.Abs(place.Habit.Value):0} ms {(place.Habit.Value > 0 ? "later" : "earlier")} than elsewhere, more than half a 16th; those strokes may be written at the wrong place."));

    private static IEnumerable<PlaceFigure> Certain(FeelReport report) =>
        report.Places.Where(place => place.HabitKnown && Math.Abs(place.Habit.Value) > SureHabit * place.Habit.HalfWidth);

    private static bool Displaced(FeelReport report, PlaceFigure place) =>
        Math.Abs(place.Habit.Value) > HalfA16th * report.Tempo.Bpm.Beat.Milliseconds;
}
