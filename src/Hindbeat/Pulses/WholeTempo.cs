using Hindbeat.Performances;

namespace Hindbeat.Pulses;

/// <summary>
/// Clicks are set in whole numbers of bpm (common practice, no source): what a reading's tempo, known to within its error, says of it.
/// ln((1 − q) + q·d), d = density of the tempo about the nearest whole number over that of a tempo that may be any; q = share of passages
/// played to a click.
/// </summary>
/// <remarks>Of two tempi in a ratio of 2 : 3 only one may be whole, and half of an odd one never is. A tempo whose error is a third of a bpm or more says nothing (0).</remarks>
internal static class WholeTempo
{
    /// <summary>Half of what is studied was played to a click or a machine (our judgement, no source).</summary>
    private const double Clicked = 0.5;

    /// <summary>Errors below are the MIDI clock's and the recording's, bpm.</summary>
    private const double LeastError = 0.02;

    /// <param name="beatError">Standard error of the beat over the beat; not a number where the tempo may change.</param>
    public static double LogOf(Meter meter, double bpm, double beatError)
    {
        if (double.IsNaN(beatError))
            return 0;
        double density = Density(bpm, bpm * beatError);
        // A click may sound the quarter where another note is counted.
        double quarters = bpm * 4 * meter.BeatLength.ToDouble();
        if (quarters != bpm)
            density = 0.5 * (density + Density(quarters, quarters * beatError));
        return Math.Log(1 - Clicked + (Clicked * density));
    }

    /// <summary>A normal density about the nearest whole number, and those beside it.</summary>
    private static double Density(double bpm, double error)
    {
        double spread = Math.Sqrt((error * error) + (LeastError * LeastError));
        if (spread > 0.4)
            return 1;
        double off = bpm - Math.Round(bpm);
        double density = 0;
        for (int beside = -1; beside <= 1; beside++)
        {
            double z = (off - beside) / spread;
            density += Math.Exp(-0.5 * z * z) / (spread * Math.Sqrt(2 * Math.PI));
        }

        return density;
    }
}
