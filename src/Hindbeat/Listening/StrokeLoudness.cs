using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Listening;

/// <summary>How loud a stroke is: root mean square in the band where its loudness shows best, less what was sounding before.</summary>
/// <remarks>
/// Bands and lengths are those whose levels ranked the strokes of five training kits best: a kick by its low end, a snare by
/// its wires, a tom by the stick. One instance a thread; allocates nothing after it is made.
/// </remarks>
internal sealed class StrokeLoudness
{
    private const int Rate = MonoSound.AnalysisRate;
    private const int WarmUp = (int)(0.025 * Rate);

    /// <summary>What was sounding is heard from 8 to 2.3 ms before the onset, clear of what the time may be off by.</summary>
    private const int BeforeFrom = (int)(0.008 * Rate);
    private const int BeforeTo = (int)(0.0023 * Rate);

    /// <summary>The stroke is heard from this long before its onset on, so that a time a little late loses nothing.</summary>
    private const int Early = (int)(0.001 * Rate);

    /// <summary>Of the power at least this share is the stroke's: −30 dB, where a loud sound before hides all of it.</summary>
    private const double Least = 1e-3;

    private static readonly (double Low, double High, double Seconds)[] Bands =
    [
        (30, 300, 0.030),
        (2500, 8000, 0.030),
        (10000, 20000, 0.030),
        (10000, 20000, 0.030),
        (1500, 8000, 0.008),
    ];

    private readonly BandPass[] _filters;
    private readonly float[] _samples = new float[WarmUp + BeforeFrom + (int)(0.030 * Rate)];

    /// <param name="metalHertz">As for <see cref="StrokeTimer"/>.</param>
    public StrokeLoudness(double metalHertz)
    {
        _filters = [.. Bands.Select(band => new BandPass(band.Low == 10000 ? metalHertz : band.Low, band.High))];
    }

    /// <param name="onset">Sample of the recording.</param>
    public Level Measure(MonoSound sound, double onset, PieceFamily family)
    {
        int length = (int)(Bands[(int)family].Seconds * Rate);
        int at = WarmUp + BeforeFrom;
        Span<float> samples = _samples.AsSpan(0, at - Early + length);
        sound.Read((long)Math.Round(onset) - at, samples);
        _filters[(int)family].Run(samples);
        double before = MeanSquare(samples[(at - BeforeFrom)..(at - BeforeTo)]);
        double after = MeanSquare(samples[(at - Early)..]);
        return Level.FromAmplitude(Math.Sqrt(Math.Max(after - before, Least * after) + 1e-12));
    }

    private static double MeanSquare(ReadOnlySpan<float> samples)
    {
        double sum = 0;
        foreach (float sample in samples)
            sum += (double)sample * sample;
        return sum / samples.Length;
    }
}
