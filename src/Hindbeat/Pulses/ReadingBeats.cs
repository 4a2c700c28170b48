using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Pulses;

/// <summary>From a reading to numbered beats that cover the passage.</summary>
internal static class ReadingBeats
{
    /// <summary>The first stroke may be this early, in beats, and still belong to its beat.</summary>
    private const double Early = 0.12;

    /// <summary>Beats from the last at or before the first stroke to the first after the last stroke, and the first one's number counted from beat 1 of bar 1 (negative in a pickup).</summary>
    /// <remarks>Bar 1 is the first whole bar, unless a person has said where it starts.</remarks>
    public static (double[] Beats, int FirstIndex) Of(Reading reading, StrokeTrain strokes, AudioTime? barOne)
    {
        double Place(double time) => (reading.Path.PlaceAt(time) - reading.Downbeat) / reading.Beat;
        int first = (int)Math.Floor(Place(strokes.Start) + Early);
        int last = Math.Max(first + 2, (int)Math.Floor(Place(strokes.End)) + 1);
        int perBar = reading.Meter.BeatsPerBar;
        int start = barOne is { } given
            ? (int)Math.Round(Place(given.TotalSeconds) / perBar) * perBar
            : (int)Math.Ceiling((double)first / perBar) * perBar;
        double[] beats = [.. Enumerable.Range(first, last - first + 1).Select(k => reading.Path.TimeAt(reading.Downbeat + (k * reading.Beat)))];
        return (beats, first - start);
    }

    public static Pulse ToPulse(Meter meter, double[] beats, int firstIndex, double confidence, PulseSource source)
    {
        Beat[] numbered = new Beat[beats.Length];
        for (int k = 0; k < beats.Length; k++)
        {
            int bar = Math.DivRem(firstIndex + k, meter.BeatsPerBar, out int beat);
            if (beat < 0)
            {
                bar--;
                beat += meter.BeatsPerBar;
            }

            numbered[k] = new Beat(AudioTime.FromSeconds(beats[k]), bar + 1, beat + 1);
        }

        return new Pulse(meter, numbered, confidence, source);
    }
}
