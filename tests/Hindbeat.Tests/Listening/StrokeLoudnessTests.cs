using Hindbeat.Listening;
using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;

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

    private static Level[] Measured(float[] samples, int strokes)
    {
        using MonoSound sound = MonoSound.FromSamples(samples);
        StrokeLoudness loudness = new(StrokeBands.MetalHertz);
        int bands = StrokeBands.Of(PieceFamily.Kick).Levels.Length;
        BandLevel[] heard = new BandLevel[strokes * bands];
        for (int k = 0; k < strokes; k++)
            loudness.Measure(sound, PieceFamily.Kick, (k + 1) * Apart, heard.AsSpan(k * bands, bands));
        return StrokeLoudness.Combine(PieceFamily.Kick, heard);
    }

    [Fact]
    public void Half_the_amplitude_is_six_decibels_less()
    {
        Level[] levels = Measured(Kicks(0.4, 0.2, 0.1, 0.4, 0.05), 5);
        double[] below = [.. levels.Select(level => level.Dbfs - levels[0].Dbfs)];
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
        Level[] plain = Measured(Kicks(amplitudes), 5);
        Level[] rung = Measured(sound, 5);
        Assert.InRange(Math.Abs(rung[2].Dbfs - plain[2].Dbfs), 0, 5);
        Assert.Equal(Order(plain), Order(rung));

        static int[] Order(Level[] levels) => [.. Enumerable.Range(0, levels.Length).OrderBy(i => levels[i].Dbfs)];
    }

    [Fact]
    public void A_single_stroke_has_its_own_level()
    {
        Level[] one = Measured(Kicks(0.4), 1);
        Level[] two = Measured(Kicks(0.4, 0.4), 2);
        Assert.Equal(two[0].Dbfs, one[0].Dbfs, 3);
    }
}
