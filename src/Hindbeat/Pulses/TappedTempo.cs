using Hindbeat.Units;

namespace Hindbeat.Pulses;

/// <summary>
/// The tempo of taps: the slope of the straight line of least squares through their moments over their counts. A tap that was left out is
/// counted; the line forgives single uneven taps, whose error falls with the 1.5th power of their number.
/// </summary>
public static class TappedTempo
{
    /// <summary>Fewer taps do not tell a slip from a tempo.</summary>
    public const int FewestTaps = 4;

    /// <summary>A gap this far from whole beats, in beats, is neither one beat nor a tap left out.</summary>
    private const double MostUneven = 0.3;

    /// <param name="taps">Seconds, ascending, on any clock.</param>
    /// <exception cref="InputException">Too few taps, or taps that follow no tempo.</exception>
    public static Bpm Of(IReadOnlyList<double> taps)
    {
        ArgumentNullException.ThrowIfNull(taps);
        if (taps.Count < FewestTaps)
            throw new InputException($"{taps.Count} taps are too few for a tempo; tap at least {FewestTaps} beats.");
        double[] gaps = [.. taps.Skip(1).Zip(taps, (later, earlier) => later - earlier)];
        if (gaps.Any(gap => gap <= 0))
            throw new InputException("The taps' times do not rise; give them in the order they were tapped.");
        double usual = gaps.Order().ElementAt(gaps.Length / 2);
        double[] counts = new double[taps.Count];
        for (int i = 0; i < gaps.Length; i++)
        {
            double beats = Math.Max(1, Math.Round(gaps[i] / usual));
            if (Math.Abs((gaps[i] / usual) - beats) > MostUneven)
                throw new InputException(FormattableString.Invariant($"Tap {i + 2} comes {gaps[i]:0.00} s after the one before it, where the others are {usual:0.00} s apart; tap the beat evenly."));
            counts[i + 1] = counts[i] + beats;
        }

        double meanCount = counts.Average();
        double meanTime = taps.Average();
        double slope = counts.Zip(taps, (count, time) => (count - meanCount) * (time - meanTime)).Sum() / counts.Sum(count => (count - meanCount) * (count - meanCount));
        double bpm = 60 / slope;
        if (bpm is < 20 or > 400)
            throw new InputException(FormattableString.Invariant($"The taps make {bpm:0} bpm; a counted beat lies between 20 and 400."));
        return Bpm.Of(bpm);
    }
}
