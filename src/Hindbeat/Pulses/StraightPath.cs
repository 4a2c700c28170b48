using System.Numerics;

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
    private const double WholeVote = 1.0;

    private const double HalfVote = 0.7;

    private const double QuarterVote = 0.5;

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
        double step = 1 / (span * 20);
        int steps = (int)Math.Ceiling(Reach / (period * step));
        double slowest = (1 / period) - (steps * step);
        // What a stroke is worth as a point on a circle that goes round once a period, turned on from one rate to the next.
        Complex[] at = [.. strokes.Times.Select(time => Complex.FromPolarCoordinates(1, 2 * Math.PI * slowest * (time - strokes.Start)))];
        Complex[] turns = [.. strokes.Times.Select(time => Complex.FromPolarCoordinates(1, 2 * Math.PI * step * (time - strokes.Start)))];
        double best = 1 / period;
        double top = 0;
        for (int s = 0; s <= 2 * steps; s++)
        {
            double value = Worth(at, strokes.Weights);
            if (value > top)
                (top, best) = (value, slowest + (s * step));
            for (int i = 0; i < at.Length; i++)
                at[i] *= turns[i];
        }

        return 1 / best;
    }

    /// <summary>How far strokes agree on a period, its half and its quarter: lengths of Σ w·zᵏ, k = 1, 2, 4, weighted.</summary>
    private static double Worth(Complex[] at, double[] weights)
    {
        Complex whole = 0;
        Complex half = 0;
        Complex quarter = 0;
        for (int i = 0; i < at.Length; i++)
        {
            Complex twice = at[i] * at[i];
            whole += weights[i] * at[i];
            half += weights[i] * twice;
            quarter += weights[i] * twice * twice;
        }

        return (WholeVote * whole.Magnitude) + (HalfVote * half.Magnitude) + (QuarterVote * quarter.Magnitude);
    }
}
