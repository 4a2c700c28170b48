using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Pulses;

/// <summary>The tempo curve through strokes whose written places are known: from a chart, from the passage that a take copies.</summary>
public static class GivenPlaces
{
    /// <summary>
    /// The same strokes at the same places, with beats that follow how they were played. Lay-back and swing are taken out as
    /// in <see cref="PulseFinder.Find"/>; strokes without a place are carried along.
    /// </summary>
    /// <param name="placed">Its pulse says which beats exist; their times are only a first guess.</param>
    /// <exception cref="InputException">Fewer strokes with a place than a pulse needs.</exception>
    public static Performance Retime(Performance placed, TempoShape shape = TempoShape.Found)
    {
        ArgumentNullException.ThrowIfNull(placed);
        Pulse pulse = placed.Pulse;
        int withPlace = placed.Hits.Count(hit => hit.Position is not null);
        if (withPlace < PulseFinder.FewestHits)
            throw new InputException($"Only {withPlace} strokes have a written place; a tempo needs at least {PulseFinder.FewestHits}.");
        Hit[] hits = [.. placed.Hits];
        StrokeTrain strokes = StrokeTrain.From(hits);
        int[] main = GraceStrokes.MainStrokeOf(hits, pulse.MeanTempo.Beat.Value);
        Fraction[] places = [.. hits.Select(hit => hit.Position is { } position ? pulse.BeatsFromFirst(position) : Fraction.Zero)];
        (int[] classes, bool[] isReference) = PassageWriter.Classes(strokes, main, places);
        for (int i = 0; i < hits.Length; i++)
        {
            if (hits[i].Position is null)
                classes[i] = -1;
        }

        (double[] beats, _) = TempoCurve.Fit(strokes.Times, places, strokes.Weights, classes, isReference, pulse.Beats.Count, shape);
        Beat[] numbered = [.. pulse.Beats.Select((beat, k) => beat with { Time = AudioTime.FromSeconds(beats[k]) })];
        return new Performance(new Pulse(pulse.Meter, numbered, pulse.Confidence, pulse.Source), hits);
    }
}
