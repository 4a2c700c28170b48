using Hindbeat.Performances;

namespace Hindbeat.Rebuilding;

/// <summary>
/// The click's three sounds, computed: two sines a fifth apart that die within hundredths of a second.
/// They begin at full height with their phase at zero, so the onset is the first sample.
/// </summary>
internal static class ClickSounds
{
    private const double Seconds = 0.06;
    private const double DyingSeconds = 0.012;
    private const double FifthShare = 0.5;

    /// <summary>Peak of a plain click at 0 dB: half of full scale leaves room for accents.</summary>
    private const double Peak = 0.5;

    public static KitSample Make(ClickKind kind, int sampleRate)
    {
        // Our choice, no source: far from drums' own pitches, in a range small loudspeakers play.
        (double hertz, double gain) = kind switch
        {
            ClickKind.First => (1760.0, 1.4),
            ClickKind.Beat => (1320.0, 1.0),
            _ => (990.0, 0.5),
        };
        var samples = new float[(int)(Seconds * sampleRate)];
        for (int i = 0; i < samples.Length; i++)
        {
            double time = (double)(i + 1) / sampleRate;
            double tone = Math.Sin(2 * Math.PI * hertz * time) + (FifthShare * Math.Sin(2 * Math.PI * hertz * 1.5 * time));
            double end = 0.5 + (0.5 * Math.Cos(Math.PI * i / samples.Length));
            samples[i] = (float)(Peak * gain / (1 + FifthShare) * tone * Math.Exp(-time / DyingSeconds) * end);
        }

        return new KitSample(KitPiece.Other, 1 + (int)kind, samples, sampleRate, -1);
    }
}
