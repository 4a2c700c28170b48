using Hindbeat.Performances;

namespace Hindbeat.Takes;

/// <summary>
/// Follows a take through the passage's loop, bar by bar, from a start and a tempo: what is found in one bar says where and how fast the
/// next begins, so that a tempo guessed a percent wrong is right after two bars, and a tempo that drifts is kept.
/// </summary>
internal static class TakeFollower
{
    /// <summary>How much of what a bar lies off is believed at once, of its place and of its tempo.</summary>
    private const double PlaceGain = 0.7, TempoGain = 0.4;

    /// <summary>Fewer strokes found say nothing of where the bar lies.</summary>
    private const int FewestFound = 3;

    /// <summary>When each bar's beat 1 falls, seconds, from the bar that holds the first stroke to one after the last.</summary>
    /// <param name="start">A place in beats = scale · seconds + shift.</param>
    /// <param name="firstBar">Bars from the loop's start to the first of the list.</param>
    public static List<double> Bars(ReferenceBars reference, IReadOnlyList<Hit> hits, TakeStart start, out int firstBar)
    {
        int perBar = reference.Meter.BeatsPerBar, loopBars = reference.Beats / perBar;
        double beat = 1 / start.Scale, first = hits[0].Time.TotalSeconds, last = hits[^1].Time.TotalSeconds;
        int bar = firstBar = (int)Math.Floor(((start.Scale * first) + start.Shift + StrokeMatching.Farthest) / perBar);
        double time = ((firstBar * perBar) - start.Shift) / start.Scale;
        var times = new List<double> { time };
        for (int from = 0; time <= last + beat; bar++)
        {
            (double off, double tempo) = Off(reference, hits, ref from, time, beat, ((bar % loopBars) + loopBars) % loopBars);
            beat *= 1 + (TempoGain * tempo);
            time += perBar * beat;
            time += PlaceGain * off * beat;
            times.Add(time);
        }

        return times;
    }

    /// <summary>How much later than expected a bar's strokes are at its end, beats, and how much longer its beats, as a share.</summary>
    private static (double Off, double Tempo) Off(ReferenceBars reference, IReadOnlyList<Hit> hits, ref int from, double time, double beat, int bar)
    {
        int perBar = reference.Meter.BeatsPerBar;
        while (from < hits.Count && hits[from].Time.TotalSeconds < time - (StrokeMatching.Farthest * beat))
            from++;
        Hit[] own = [.. hits.Skip(from).TakeWhile(hit => hit.Time.TotalSeconds < time + ((perBar + StrokeMatching.Farthest) * beat))];
        var found = new List<(double Place, double Late)>();
        foreach (PieceFamily family in Enum.GetValues<PieceFamily>())
        {
            double[] asked = [.. reference.Strokes.Where(stroke => stroke.Family == family).Select(stroke => stroke.Sounding - (bar * perBar)).Where(place => place >= -StrokeMatching.Farthest && place < perBar)];
            double[] played = [.. own.Where(hit => hit.Piece.Family() == family).Select(hit => (hit.Time.TotalSeconds - time) / beat)];
            int[] match = StrokeMatching.Match(asked, played);
            for (int i = 0; i < match.Length; i++)
            {
                if (match[i] >= 0)
                    found.Add((asked[i], played[match[i]] - asked[i]));
            }
        }

        if (found.Count < FewestFound)
            return (0, 0);
        double middle = found.Average(one => one.Place), late = Median(found.Select(one => one.Late));
        double squares = found.Sum(one => (one.Place - middle) * (one.Place - middle));
        double slope = squares < 0.5 ? 0 : found.Sum(one => (one.Place - middle) * Math.Clamp(one.Late - late, -0.1, 0.1)) / squares;
        // Half of what the bar as a whole lies off is the tempo's, too: it has grown since the bar before.
        return (late, Math.Clamp(slope + (0.5 * late / perBar), -0.1, 0.1));
    }

    private static double Median(IEnumerable<double> values)
    {
        double[] sorted = [.. values.Order()];
        return 0.5 * (sorted[(sorted.Length - 1) / 2] + sorted[sorted.Length / 2]);
    }
}
