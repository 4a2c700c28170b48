using Hindbeat.Performances;
using Hindbeat.Pulses;

namespace Hindbeat.Training;

/// <summary>Cuts a take into sections of eight bars of its true grid, so that a take of many grooves teaches each of them.</summary>
internal static class TakeSections
{
    private const int BarsPerSection = 8;

    public static IEnumerable<BarCounts> Of(Take take)
    {
        foreach (IGrouping<int, Hit> section in take.Hits.GroupBy(hit => (int)Math.Floor((hit.Time.TotalSeconds + (0.03 * take.BeatSeconds)) / (BarsPerSection * take.BarSeconds))))
        {
            Hit[] hits = [.. section];
            StrokeTrain strokes = StrokeTrain.From(hits);
            double[] places = [.. strokes.Times.Select(time => time / take.BeatSeconds)];
            if (places[^1] - places[0] > take.Grid.Meter.BeatsPerBar * 1.5)
                yield return BarCounts.Of(strokes, places, 1, 0, take.Grid.Meter.BeatsPerBar, take.BeatSeconds);
        }
    }
}
