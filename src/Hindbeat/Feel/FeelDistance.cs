using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Feel;

/// <summary>One kind of figure's part in a distance.</summary>
/// <param name="Name">"swing", "lay-back" (every piece at every place), "looseness", "accents" or "ghosts".</param>
/// <param name="Distance">As the whole distance: 0 = alike, about 1 = apart by a step worth noticing.</param>
/// <param name="Figures">How many figures both have.</param>
public sealed record FeelDistancePart(string Name, double Distance, int Figures);

/// <summary>
/// How alike two passages feel, for searching a library: 0 = no figure differs, about 1 = the figures differ by sizes that
/// trained ears tell. D = √(mean over the kinds of figure of (mean over its figures of d² ÷ (s² + v))), d the difference of a
/// figure that both have, s the size of a step worth noticing, v the variance that both intervals admit, so that unsure
/// figures count little.
/// </summary>
/// <remarks>
/// Kinds and steps: swing 10 ms of the off-beat; lay-back and places against the reference 8 ms; looseness a factor of 1.35;
/// accents 2.5 dB; ghosts 4 dB. Steps are a choice, below the thresholds in <see cref="Audibility"/>, because whole grooves
/// are compared, not single strokes. Tempo and what is played are left out: the same groove may be slower. Symmetric; not
/// a metric (unsure figures may break the triangle).
/// </remarks>
public static class FeelDistance
{
    /// <summary>Fewer figures than this in common say nothing.</summary>
    public const int FewestFigures = 4;

    private const double SwingStepMs = 10, TimingStepMs = 8, AccentStepDb = 2.5, GhostStepDb = 4;
    private static readonly double LoosenessStep = Math.Log(1.35);

    /// <summary>The distance, 0 and above; null when the two have too little in common.</summary>
    public static double? Between(FeelReport first, FeelReport second)
    {
        IReadOnlyList<FeelDistancePart> parts = Parts(first, second);
        return parts.Sum(part => part.Figures) < FewestFigures ? null : Math.Sqrt(parts.Average(part => part.Distance * part.Distance));
    }

    /// <summary>The distance kind by kind: in what the two are alike and in what they differ. Only kinds that both have.</summary>
    public static IReadOnlyList<FeelDistancePart> Parts(FeelReport first, FeelReport second)
    {
        ArgumentNullException.ThrowIfNull(first);
        ArgumentNullException.ThrowIfNull(second);
        (string Name, double[] Steps)[] kinds =
        [
            ("swing", Steps(Swings(first), Swings(second), SwingStepMs)),
            ("lay-back", first.ReferenceName == second.ReferenceName ? Steps(Timings(first), Timings(second), TimingStepMs) : Steps(Habits(first), Habits(second), TimingStepMs)),
            ("looseness", Steps(Logs(first), Logs(second), LoosenessStep)),
            ("accents", Steps(Accents(first), Accents(second), AccentStepDb)),
            ("ghosts", Steps(Ghosts(first), Ghosts(second), GhostStepDb)),
        ];
        return [.. kinds.Where(kind => kind.Steps.Length > 0).Select(kind => new FeelDistancePart(kind.Name, Math.Sqrt(kind.Steps.Average()), kind.Steps.Length))];
    }

    private static double[] Steps<TKey>(IEnumerable<(TKey Key, Estimate Value)> first, IEnumerable<(TKey Key, Estimate Value)> second, double step)
        where TKey : notnull
    {
        var others = second.GroupBy(entry => entry.Key).ToDictionary(group => group.Key, group => group.First().Value);
        return [.. first.Where(entry => others.ContainsKey(entry.Key)).Select(entry =>
        {
            Estimate other = others[entry.Key];
            double difference = entry.Value.Value - other.Value, a = entry.Value.HalfWidth / StudentT.Normal975, b = other.HalfWidth / StudentT.Normal975;
            return difference * difference / ((step * step) + (a * a) + (b * b));
        })];
    }

    private static IEnumerable<(SwingLevel, Estimate)> Swings(FeelReport report) =>
        FeelComparison.Whole(report).Where(figure => figure.DelayMs.HalfWidth > 0 || figure.DelayMs.Value != 0).Select(figure => (figure.Level, figure.DelayMs));

    private static IEnumerable<((KitPiece, int, Fraction), Estimate)> Timings(FeelReport report) =>
        report.Places.Select(place => ((place.Piece, place.Beat, place.Within), place.Milliseconds));

    private static IEnumerable<((KitPiece, int, Fraction), Estimate)> Habits(FeelReport report) =>
        report.Places.Where(place => place.HabitKnown).Select(place => ((place.Piece, place.Beat, place.Within), place.Habit));

    private static IEnumerable<(KitPiece, Estimate)> Logs(FeelReport report) => report.Looseness.Where(figure => figure.Milliseconds.Low > 0)
        .Select(figure => (figure.Piece, new Estimate(Math.Log(figure.Milliseconds.Value), Math.Log(figure.Milliseconds.Low), Math.Log(figure.Milliseconds.High))));

    private static IEnumerable<((KitPiece, int, Fraction), Estimate)> Accents(FeelReport report) =>
        report.Touch.Where(figure => figure.Accent is not null).Select(figure => ((figure.Piece, figure.Beat, figure.Within), figure.Accent!.Value));

    private static IEnumerable<(KitPiece, Estimate)> Ghosts(FeelReport report) => report.Ghosts.Select(figure => (figure.Piece, figure.Decibels));
}
