using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>One stroke's deviation taken apart; the parts add up to it exactly.</summary>
/// <param name="BeatsFromFirst">Written place in beats after the pulse's first beat.</param>
/// <param name="SwingBeats">Measured swing of the place, in beats.</param>
/// <param name="LayBack">Measured lay-back of the piece, seconds.</param>
/// <param name="Habit">Mean of what is left over all strokes of the piece at this place of the bar, seconds.</param>
/// <param name="Chance">The rest of this one stroke, seconds.</param>
internal readonly record struct StrokeParts(double BeatsFromFirst, double SwingBeats, double LayBack, double Habit, double Chance);

/// <summary>Takes each placed stroke's deviation apart into swing, lay-back, habit and chance.</summary>
internal static class FeelParts
{
    /// <summary>A habit is what comes again; a place struck once cannot tell habit from chance, so all is chance.</summary>
    private const int LeastStrokesOfAHabit = 2;

    /// <returns>One entry a hit of the performance, null for a hit without a written place.</returns>
    public static StrokeParts?[] Of(Performance performance, FeelReport report)
    {
        Pulse pulse = performance.Pulse;
        SwingOffsets swing = SwingOffsets.Measured(performance.Meter, report.Swing);
        // A lay-back that is not identified is a sum of unknown parts: scaling it would scale swing too.
        Dictionary<KitPiece, double> layBack = report.LayBack.Where(figure => figure.Identified && double.IsFinite(figure.Milliseconds.Value))
            .GroupBy(figure => figure.Piece).ToDictionary(group => group.Key, group => group.First().Milliseconds.Value / 1000);

        var parts = new StrokeParts?[performance.Hits.Count];
        for (int i = 0; i < parts.Length; i++)
        {
            Hit hit = performance.Hits[i];
            if (hit.Position is not { } position)
                continue;
            double beats = pulse.BeatsFromFirst(position).ToDouble();
            double swingBeats = swing.InBeats(position, hit.Piece);
            double late = layBack.GetValueOrDefault(hit.Piece);
            double deviation = hit.Time.TotalSeconds - pulse.TimeAt(beats).TotalSeconds;
            double left = deviation - (swingBeats * BeatLength(pulse, beats)) - late;
            parts[i] = new StrokeParts(beats, swingBeats, late, 0, left);
        }

        foreach (IGrouping<(KitPiece, int, Fraction), int> slot in Enumerable.Range(0, parts.Length)
            .Where(i => parts[i] is not null)
            .GroupBy(i => SlotOf(performance.Hits[i])))
        {
            int[] strokes = [.. slot];
            if (strokes.Length < LeastStrokesOfAHabit)
                continue;
            double mean = strokes.Average(i => parts[i]!.Value.Chance);
            foreach (int i in strokes)
                parts[i] = parts[i]!.Value with { Habit = mean, Chance = parts[i]!.Value.Chance - mean };
        }

        return parts;
    }

    /// <summary>Seconds of the beat that a place (in beats after the first) lies in.</summary>
    public static double BeatLength(Pulse pulse, double beats)
    {
        double whole = Math.Floor(beats);
        return (pulse.TimeAt(whole + 1) - pulse.TimeAt(whole)).Value;
    }

    private static (KitPiece, int, Fraction) SlotOf(Hit hit) => (hit.Piece, hit.Position!.Value.Beat, hit.Position.Value.Within);
}
