using Hindbeat.Listening;
using Hindbeat.Performances;
using Hindbeat.Sound;

namespace Hindbeat.Tests.Listening;

/// <summary>Levels of decaying tones whose amplitudes are known.</summary>
public class StrokeLoudnessTests
{
    private const int Rate = MonoSound.AnalysisRate;
    private const int Apart = Rate / 2;

    /// <summary>Kicks: 45 Hz and, a little softer, 90 Hz, decaying by half in 35 ms.</summary>
    private static float[] Kicks(params double[] amplitudes)
    {
        float[] sound = new float[(amplitudes.Length + 1) * Apart];
        for (int k = 0; k < amplitudes.Length; k++)
        {
            for (int i = 0; i < Apart; i++)
            {
                double t = (double)i / Rate;
                sound[((k + 1) * Apart) + i] += (float)(amplitudes[k] * Math.Exp(-t / 0.05) * (Math.Sin(2 * Math.PI * 45 * t) + (0.7 * Math.Sin(2 * Math.PI * 90 * t))));
            }
        }

        return sound;
    }

    private static double[] Measured(float[] samples, int strokes)
    {
        using MonoSound sound = MonoSound.FromSamples(samples);
        StrokePowers measure = new(StrokeBands.MetalHertz);
        double[] powers = new double[strokes * StrokePowers.Values];
        for (int k = 0; k < strokes; k++)
            measure.Measure(sound, (k + 1) * Apart, powers.AsSpan(k * StrokePowers.Values, StrokePowers.Values));
        return StrokeLoudness.Of(PieceFamily.Kick, [.. Enumerable.Range(0, strokes)], powers);
    }

    [Fact]
    public void Half_the_amplitude_is_six_decibels_less()
    {
        double[] levels = Measured(Kicks(0.4, 0.2, 0.1, 0.4, 0.05), 5);
        double[] below = [.. levels.Select(level => level - levels[0])];
        Assert.Equal([0, -6.02, -12.04, 0, -18.06], below.Select(value => Math.Round(value, 2)));
    }

    [Fact]
    public void What_rings_on_in_one_band_leaves_the_others_to_say_it()
    {
        // A tom of 100 Hz, louder than the soft kick itself, rings into the third of five.
        double[] amplitudes = [0.4, 0.2, 0.05, 0.1, 0.3];
        float[] sound = Kicks(amplitudes);
        int tom = (3 * Apart) - (int)(0.08 * Rate);
        for (int i = 0; i < Apart; i++)
            sound[tom + i] += (float)(0.4 * Math.Exp(-i / (0.15 * Rate)) * Math.Sin(2 * Math.PI * 100 * i / Rate));
        double[] plain = Measured(Kicks(amplitudes), 5);
        double[] rung = Measured(sound, 5);
        Assert.InRange(Math.Abs(rung[2] - plain[2]), 0, 5);
        Assert.Equal(Order(plain), Order(rung));

        static int[] Order(double[] levels) => [.. Enumerable.Range(0, levels.Length).OrderBy(i => levels[i])];
    }

    [Fact]
    public void A_single_stroke_has_its_own_level()
    {
        double[] one = Measured(Kicks(0.4), 1);
        double[] two = Measured(Kicks(0.4, 0.4), 2);
        Assert.Equal(two[0], one[0], 3);
    }
}
