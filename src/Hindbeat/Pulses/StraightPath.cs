namespace Hindbeat.Pulses;

/// <summary>
/// The evenly spaced beats that fit a whole passage best near a period: pauses, fills and dense stretches that make a followed path
/// slip by half a beat do not move it, for every stroke votes on one period and one phase.
/// </summary>
internal static class StraightPath
{
    /// <summary>The period of the whole lies within this share of the one found from lags of a few beats.</summary>
    private const double Reach = 0.025;

    /// <summary>Beats, halves and quarters vote; quarters tell the period most finely.</summary>
    private static readonly (int Harmonic, double Weight)[] Votes = [(1, 1.0), (2, 0.7), (4, 0.5)];

    /// <summary>As many evenly spaced beats as given ones, with the period that all strokes vote for, in the middle of the given ones.</summary>
    public static double[] Along(StrokeTrain strokes, double[] beats)
    {
        double period = Period(strokes, BeatTimes.Mean(beats));
        double[] starts = [.. beats.Select((time, k) => time - (k * period)).Order()];
        return [.. Enumerable.Range(0, beats.Length).Select(k => starts[starts.Length / 2] + (k * period))];
    }

    private static double Period(StrokeTrain strokes, double period)
    {
        double span = Math.Max(strokes.End - strokes.Start, 2 * period);
        // A step turns the last stroke's quarter by a fifth of a cycle.
        double step = period * period / (span * 20);
        int steps = (int)Math.Ceiling(Reach * period / step);
        double best = period;
        double top = 0;
        for (int s = -steps; s <= steps; s++)
        {
            double tried = period + (s * step);
            double value = Votes.Sum(vote => vote.Weight * Turn(strokes, tried / vote.Harmonic).Length);
            if (value > top)
                (top, best) = (value, tried);
        }

        return best;
    }

    /// <summary>Σ w·e^(2πi·t/period), times counted from the first stroke.</summary>
    private static (double Length, double Angle) Turn(StrokeTrain strokes, double period)
    {
        double x = 0;
        double y = 0;
        for (int i = 0; i < strokes.Count; i++)
        {
            (double sine, double cosine) = Math.SinCos(2 * Math.PI * (strokes.Times[i] - strokes.Start) / period);
            x += strokes.Weights[i] * cosine;
            y += strokes.Weights[i] * sine;
        }

        return (Math.Sqrt((x * x) + (y * y)), Math.Atan2(y, x));
    }
}
