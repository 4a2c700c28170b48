using Hindbeat.Performances;

namespace Hindbeat.Feel;

/// <summary>The strokes of one hand or foot as a row of written places, one stroke a place.</summary>
internal static class StreamPlaces
{
    /// <summary>Written places are multiples of this part of a beat or nearly so; finer ones are told apart still.</summary>
    private const double TicksPerBeat = 10_080;

    /// <summary>Stroke index by written place (in ticks from the pulse's first beat), in order; of two at one place (a flam) the louder.</summary>
    public static SortedDictionary<long, int> LoudestByPlace(StrokeTable table, KitPiece stream)
    {
        var places = new SortedDictionary<long, int>();
        for (int i = 0; i < table.Strokes.Length; i++)
        {
            Stroke stroke = table.Strokes[i];
            if (Hand.StreamOf(stroke.Piece) != stream)
                continue;
            long place = (long)Math.Round(stroke.Beats * TicksPerBeat);
            if (!places.TryGetValue(place, out int other) || table.Strokes[other].Level < stroke.Level)
                places[place] = i;
        }

        return places;
    }

    /// <summary>The most common distance from one place to the next, in ticks; the smaller of two equally common ones; 0 with fewer than two places.</summary>
    public static long CommonStep(SortedDictionary<long, int> places)
    {
        long[] at = [.. places.Keys];
        return at.Length < 2 ? 0 : at.Skip(1).Zip(at, (later, earlier) => later - earlier)
            .GroupBy(step => step).OrderByDescending(steps => steps.Count()).ThenBy(steps => steps.Key).First().Key;
    }
}
