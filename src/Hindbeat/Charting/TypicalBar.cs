using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>
/// The core of a groove as one bar: every stroke that occurs in at least a third of the bars, with how often it
/// occurs, its mean loudness and its mean deviation. Rarer strokes are variations and are left out.
/// </summary>
public static class TypicalBar
{
    /// <summary>Less often than this a stroke is a variation.</summary>
    public const double LeastShare = 1.0 / 3.0;

    /// <exception cref="InputException">No stroke occurs in a third of the bars.</exception>
    public static Chart Make(Performance performance, FeelReport? feel, ChartOptions options)
    {
        ArgumentNullException.ThrowIfNull(performance);
        ArgumentNullException.ThrowIfNull(options);
        // Bars in other meters are other bars.
        var placed = performance.Hits.Select((hit, index) => (Hit: hit, Index: index))
            .Where(pair => pair.Hit.Position is { } place && performance.Pulse.MeterAt(place.Bar) == performance.Meter).ToList();
        int bars = placed.Select(pair => pair.Hit.Position!.Value.Bar).Where(bar => bar > 0).Distinct().Count();
        var kept = placed
            .Where(pair => pair.Hit.Position!.Value.Bar > 0)
            .GroupBy(pair => (pair.Hit.Piece, pair.Hit.Position!.Value.Beat, pair.Hit.Position!.Value.Within))
            .Select(group => (group.Key, Strokes: group.ToList(), Bars: group.Select(pair => pair.Hit.Position!.Value.Bar).Distinct().Count()))
            .Where(group => group.Bars >= bars * LeastShare)
            .GroupBy(group => (Surface(group.Key.Piece), group.Key.Beat, group.Key.Within))
            .Select(same => same.MaxBy(group => group.Bars))
            .ToList();
        if (kept.Count == 0)
            throw new InputException("No stroke comes back in a third of the bars, so there is no typical bar; was the pulse found?");

        Pulse steady = Pulse.Steady(performance.Meter, performance.Pulse.MeanTempo, AudioTime.FromSeconds(1), performance.Meter.BeatsPerBar + 1);
        var hits = new List<Hit>();
        var origins = new Dictionary<(KitPiece, BarPosition), (int Hit, Occurrence Seen)>();
        foreach (var group in kept)
        {
            var place = new BarPosition(1, group.Key.Beat, group.Key.Within);
            double late = group.Strokes.Average(pair => performance.Pulse.DeviationOf(pair.Hit)!.Value.Value);
            hits.Add(new Hit(
                steady.TimeAt(place) + Seconds.Of(late), group.Key.Piece, (int)Math.Round(group.Strokes.Average(pair => pair.Hit.Velocity)),
                Level.FromDbfs(group.Strokes.Average(pair => pair.Hit.Level.Dbfs)), 1)
            {
                Position = place,
                Marks = MarksOfMost([.. group.Strokes.Select(pair => pair.Hit.Marks)]),
            });
            origins[(group.Key.Piece, place)] = (group.Strokes[0].Index, new Occurrence(group.Bars, bars));
        }

        var typical = new Performance(steady, hits);
        Chart chart = ChartMaker.Make(typical, feel, options with { FoldRepeats = false, Stickings = null });
        return chart with { Bars = [.. chart.Bars.Select(bar => bar with { Hands = Named(bar.Hands), Feet = Named(bar.Feet) })], Tempo = feel?.Tempo.Bpm ?? performance.Pulse.MeanTempo };

        ChartVoice Named(ChartVoice voice) => voice with { Events = [.. voice.Events.Select(happening => happening with { Notes = [.. happening.Notes.Select(Original)] })] };

        ChartNote Original(ChartNote note)
        {
            (int hit, Occurrence seen) = origins[(note.Piece, typical.Hits[note.Hit].Position!.Value)];
            return note with { Hit = hit, Seen = seen };
        }
    }

    /// <summary>Open and closed strokes of the hats, or bow and bell of the ride, exclude each other at one place: the commoner stands for both.</summary>
    internal static KitPiece Surface(KitPiece piece) => piece switch
    {
        KitPiece.HatOpen => KitPiece.HatClosed,
        KitPiece.RideBell => KitPiece.Ride,
        KitPiece.CrossStick => KitPiece.Snare,
        _ => piece,
    };

    private static HitMarks MarksOfMost(IReadOnlyList<HitMarks> marks) =>
        Enum.GetValues<HitMarks>().Where(mark => mark != HitMarks.None && marks.Count(each => each.HasFlag(mark)) * 2 > marks.Count)
            .Aggregate(HitMarks.None, (sum, mark) => sum | mark);
}
