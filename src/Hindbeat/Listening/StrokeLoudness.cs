using Hindbeat.Units;

namespace Hindbeat.Listening;

/// <summary>How loud a stroke is: root mean square in the band where its loudness shows best, less what was sounding before.</summary>
/// <remarks>
/// Bands and lengths are those whose levels ranked the strokes of training kits best: a kick by its low end, all else by the stick
/// (<see cref="StrokeBands"/>). Allocates nothing.
/// </remarks>
internal static class StrokeLoudness
{
    private const int Rate = StrokeView.Rate;

    /// <summary>What was sounding is heard from 8 to 2.3 ms before the onset, clear of what the time may be off by.</summary>
    private const int BeforeFrom = (int)(0.008 * Rate);
    private const int BeforeTo = (int)(0.0023 * Rate);

    /// <summary>The stroke is heard from this long before its onset on, so that a time a little late loses nothing.</summary>
    private const int Early = (int)(0.001 * Rate);

    /// <summary>Of the power at least this share is the stroke's: −30 dB, where a loud sound before hides all of it.</summary>
    private const double Least = 1e-3;

    /// <param name="onset">Index of the view, within 10 ms of its middle.</param>
    public static Level Measure(StrokeView view, int onset)
    {
        StrokeBands bands = StrokeBands.Of(view.Family);
        int band = bands.LevelBand;
        int end = onset + (int)(bands.LevelSeconds * Rate);
        double before = view.Mean(band, onset - BeforeFrom, onset - BeforeTo);
        double after = view.Mean(band, onset - Early, end);
        return Level.FromAmplitude(Math.Sqrt(Math.Max(after - before, Least * after) + 1e-12));
    }
}
