using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>
/// The recording itself, slower or faster with its attacks as they were. Its tempo breathes as it did, since
/// every moment moves by the same factor.
/// </summary>
public static class SlowedOriginal
{
    /// <summary>Before a bar line a loop is cut: strokes on the first beat may come early.</summary>
    private const double CutBeforeSeconds = 0.020;

    private const double BlendSeconds = 0.012;

    /// <param name="passage">The recording's sound from <paramref name="start"/> on.</param>
    /// <param name="speed">0.25 to 1.5.</param>
    /// <exception cref="InputException">The speed is out of range.</exception>
    public static StereoSound Make(StereoSound passage, AudioTime start, Performance performance, double speed)
    {
        return AttackTrueStretch.Stretch(passage, Attacks(passage, start, performance), speed);
    }

    /// <summary>The same in pieces: beside the recording nothing grows with its length.</summary>
    /// <exception cref="InputException">The speed is out of range.</exception>
    public static void Stream(StereoSound passage, AudioTime start, Performance performance, double speed, AttackTrueStretch.Sink sink, CancellationToken cancel = default) =>
        AttackTrueStretch.Stream(passage, Attacks(passage, start, performance), speed, sink, cancel);

    /// <summary>
    /// One round of the bars from <paramref name="firstBar"/> to <paramref name="lastBar"/>, cut so that it can be repeated
    /// without a seam: its last moments blend into what comes before the first bar line.
    /// </summary>
    /// <param name="stretched">What <see cref="Make"/> gave.</param>
    /// <exception cref="InputException">The bars lie outside the passage.</exception>
    public static StereoSound Round(StereoSound stretched, AudioTime start, Performance performance, double speed, int firstBar, int lastBar)
    {
        ArgumentNullException.ThrowIfNull(stretched);
        ArgumentNullException.ThrowIfNull(performance);
        int rate = stretched.SampleRate;
        int from = Cut(firstBar);
        int to = Cut(lastBar + 1);
        int blend = (int)(BlendSeconds * rate);
        if (lastBar < firstBar || from < 0 || to > stretched.Left.Length || to - from < 4 * blend)
            throw new InputException($"Bars {firstBar} to {lastBar} do not lie whole inside the recorded passage.");
        return new StereoSound(Seamless(stretched.Left, from, to, blend), Seamless(stretched.Right, from, to, blend), rate);

        int Cut(int bar)
        {
            double line = performance.Pulse.TimeAt(new BarPosition(bar, 1, Fraction.Zero)).TotalSeconds - start.TotalSeconds;
            return (int)Math.Round((line - CutBeforeSeconds) / speed * rate);
        }
    }

    /// <summary>The end fades into what lies before the start, so that the start follows the end as it follows its own past.</summary>
    private static float[] Seamless(float[] sound, int from, int to, int blend)
    {
        float[] loop = sound[from..to];
        for (int i = 0; i < blend; i++)
        {
            int past = from - blend + i;
            double share = (i + 0.5) / blend;
            double before = past >= 0 ? sound[past] : 0;
            loop[^(blend - i)] = (float)((Math.Cos(Math.PI / 2 * share) * loop[^(blend - i)]) + (Math.Sin(Math.PI / 2 * share) * before));
        }

        return loop;
    }

    private static double[] Attacks(StereoSound passage, AudioTime start, Performance performance)
    {
        ArgumentNullException.ThrowIfNull(performance);
        return AttackFinder.Find(passage, [.. performance.Hits.Select(hit => (hit.Time - start).Value)]);
    }
}
