using Hindbeat.Listening;

namespace Hindbeat.Pulses;

/// <summary>
/// The paths that readings are made of: the strongest periods of the passage, each followed through it and smoothed.
/// A path may turn out to be the beat, half of it, a third, or three quarters; readings try all of these.
/// </summary>
internal static class BasePaths
{
    /// <summary>Base periods, seconds: 240 to 60 a minute; slower and faster beats are multiples and parts of these.</summary>
    private const double ShortestPeriod = 0.25;

    private const double LongestPeriod = 1.0;

    /// <summary>A dotted quarter at 38 bpm.</summary>
    private const double LongestGivenPeriod = 1.6;

    private const int MostPaths = 4;

    /// <summary>Strokes this far from a beat or half beat, as a share of the beat, do not pull on it while paths are made.</summary>
    private const double Near = 0.12;

    /// <summary>λ of the first smoothing: waves longer than about 12 beats stay.</summary>
    private const double FirstLambda = 13;

    /// <summary>A followed path this near to its own line (root mean square, seconds) is one; see <see cref="SteadyLine"/>.</summary>
    private const double SameLine = 0.015;

    /// <summary>An evenly spaced path is tried beside a followed one when it explains at least this share of what that does.</summary>
    private const double StraightShare = 0.4;

    public static IReadOnlyList<BasePath> Find(StrokeTrain strokes, OnsetStrength? strength, double? beatSeconds)
    {
        Periodicity whole = Periodicity.Of(strokes);
        List<double> periods = [];
        if (beatSeconds is { } given)
        {
            // The typed tempo is the beat itself; its half and third help where nothing is struck on slow beats.
            foreach (double period in (double[])[given, given / 2, given / 3])
            {
                if (period is < ShortestPeriod or > LongestGivenPeriod && period != given)
                    continue;
                IReadOnlyList<double> near = whole.Strongest(period * 0.93, period * 1.07, 1);
                periods.Add(near.Count > 0 ? near[0] : period);
            }
        }
        else
        {
            periods.AddRange(whole.Strongest(ShortestPeriod, LongestPeriod, MostPaths));
        }

        Periodicity[] windows = LocalTempo.Windows(strokes);
        List<BasePath> paths = [];
        foreach (double period in periods)
        {
            LocalTempo tempo = LocalTempo.Follow(strokes, windows, period);
            BasePath followed = Smooth(strokes, BeatPath.Find(strokes, strength, tempo), straight: false);
            if (LineOf(followed.Beats) is { } line)
            {
                paths.Add(Smooth(strokes, line, straight: true));
                continue;
            }

            // A free tempo, or a path that slipped in a pause or fill: readings of both compete.
            paths.Add(followed);
            BasePath straight = Smooth(strokes, StraightPath.Along(strokes, followed.Beats), straight: true);
            if (Timing(strokes, straight) >= StraightShare * Timing(strokes, followed))
                paths.Add(straight);
        }

        return paths;
    }

    /// <summary>Smooths the path by the strokes on its beats and half beats; the half beats may lie late or early as a whole (swing).</summary>
    private static BasePath Smooth(StrokeTrain strokes, double[] beats, bool straight)
    {
        double[] places = new double[strokes.Count];
        double[] targets = new double[strokes.Count];
        double[] times = new double[strokes.Count];
        double[] weights = new double[strokes.Count];
        bool[] onHalf = new bool[strokes.Count];
        double error = double.NaN;
        for (int round = 0; round < 3; round++)
        {
            Place(strokes, beats, places);
            double halfOffset = 0;
            double halfWeight = 1e-9;
            for (int i = 0; i < strokes.Count; i++)
            {
                double halves = Math.Round(places[i] * 2);
                double deviation = places[i] - (halves / 2);
                onHalf[i] = (long)halves % 2 != 0;
                targets[i] = Math.Clamp(halves / 2, 0, beats.Length - 1);
                weights[i] = Math.Abs(deviation) < Near ? strokes.Weights[i] * (onHalf[i] ? 0.4 : 1) : 0;
                times[i] = strokes.Times[i];
                if (onHalf[i])
                {
                    halfOffset += weights[i] * (strokes.Times[i] - BeatTimes.At(beats, halves / 2));
                    halfWeight += weights[i];
                }
            }

            for (int i = 0; i < strokes.Count; i++)
            {
                if (onHalf[i])
                    times[i] -= halfOffset / halfWeight;
            }

            if (straight)
            {
                if (weights.Any(w => w > 0))
                {
                    SteadyLine line = SteadyLine.Fit(targets, times, weights, beats.Length);
                    (beats, error) = (line.Beats(beats.Length), line.BeatError);
                }

                continue;
            }

            // A weak pull to the old path keeps beats that have no stroke near them in order.
            double[] allPlaces = [.. targets, .. Enumerable.Range(0, beats.Length).Select(k => (double)k)];
            double[] allTimes = [.. times, .. beats];
            double[] allWeights = [.. weights, .. Enumerable.Repeat(0.05, beats.Length)];
            beats = SmoothCurve.Fit(allPlaces, allTimes, allWeights, beats.Length, FirstLambda).Beats;
        }

        Place(strokes, beats, places);
        return new BasePath(beats, places, error);
    }

    /// <summary>The evenly spaced beats nearest to a path's, or null when they are not near.</summary>
    private static double[]? LineOf(double[] beats)
    {
        double[] places = [.. Enumerable.Range(0, beats.Length).Select(k => (double)k)];
        double[] line = SteadyLine.Fit(places, beats, [.. beats.Select(_ => 1.0)], beats.Length).Beats(beats.Length);
        double squares = line.Zip(beats).Sum(pair => (pair.First - pair.Second) * (pair.First - pair.Second));
        return Math.Sqrt(squares / beats.Length) <= SameLine ? line : null;
    }

    private static void Place(StrokeTrain strokes, double[] beats, double[] places)
    {
        for (int i = 0; i < strokes.Count; i++)
            places[i] = BasePath.PlaceAt(beats, strokes.Times[i]);
    }

    /// <summary>ln density of the strokes' times about the path's slots, nats a stroke above strokes that fall anywhere.</summary>
    private static double Timing(StrokeTrain strokes, BasePath path)
    {
        BarSlots slots = new(path.MeanBeat);
        return path.Places.Average(place => slots.Find(place).LogDensity) - slots.Anywhere;
    }
}
