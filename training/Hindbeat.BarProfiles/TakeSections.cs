using Hindbeat.Performances;
using Hindbeat.Pulses;

namespace Hindbeat.Training;

/// <summary>Cuts a take into sections of eight bars of its true grid, so that a take of many grooves teaches each of them.</summary>
internal static class TakeSections
{
    private const int BarsPerSection = 8;

    public static IEnumerable<BarCounts> Of(KitMidi kit, Meter meter)
    {
        double beatSeconds = kit.Grid.MeanTempo.Beat.Value * (meter.BeatLength.ToDouble() / kit.Grid.Meter.BeatLength.ToDouble());
        double barSeconds = beatSeconds * meter.BeatsPerBar;
        foreach (IGrouping<int, Hit> section in kit.Hits.GroupBy(hit => (int)Math.Floor((hit.Time.TotalSeconds + (0.03 * beatSeconds)) / (BarsPerSection * barSeconds))))
        {
            Hit[] hits = [.. section];
            StrokeTrain strokes = StrokeTrain.From(hits);
            double[] places = [.. strokes.Times.Select(time => time / beatSeconds)];
            if (places[^1] - places[0] > meter.BeatsPerBar * 1.5)
                yield return BarCounts.Of(strokes, places, 1, 0, meter.BeatsPerBar, beatSeconds);
        }
    }
}
