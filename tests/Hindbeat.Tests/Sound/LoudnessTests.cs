using Hindbeat.Sound;

namespace Hindbeat.Tests.Sound;

/// <summary>The meters against what ITU-R BS.1770 and EBU Tech 3341 publish.</summary>
public class LoudnessTests
{
    // ITU-R BS.1770, tables 1 and 2 (48 kHz); typed from memory.
    [Fact]
    public void K_weighting_at_48_kHz_is_the_printed_table()
    {
        var filter = new KWeighting(48000);
        Assert.Equal(1.53512485958697, filter.ShelfCoefficients.B0, 1e-10);
        Assert.Equal(-2.69169618940638, filter.ShelfCoefficients.B1, 1e-10);
        Assert.Equal(1.19839281085285, filter.ShelfCoefficients.B2, 1e-10);
        Assert.Equal(-1.69065929318241, filter.ShelfCoefficients.A1, 1e-10);
        Assert.Equal(0.73248077421585, filter.ShelfCoefficients.A2, 1e-10);
        Assert.Equal(-1.99004745483398, filter.HighPassCoefficients.A1, 1e-10);
        Assert.Equal(0.99007225036621, filter.HighPassCoefficients.A2, 1e-10);
    }

    // ITU-R BS.1770: "if a 0 dBFS 997 Hz sine wave is applied to the left, centre or right channel, the
    // indicated loudness will equal −3.01 LKFS". The printed filter is for 48 kHz; at other rates the
    // bilinear transform bends the shelf's foot a little, well inside EBU Tech 3341's ±0.1 LU.
    [Theory]
    [InlineData(48000, 0.005)]
    [InlineData(44100, 0.01)]
    [InlineData(22050, 0.1)]
    [InlineData(96000, 0.1)]
    public void Full_scale_997_Hz_in_one_channel_reads_minus_3_01(int rate, double tolerance)
    {
        float[] sine = Sine(997, 1, 10, rate, 0);
        Assert.Equal(-3.01, Loudness.IntegratedLufs(new StereoSound(sine, new float[sine.Length], rate)), tolerance);
    }

    // EBU Tech 3341, test 1: stereo 1 kHz sine at −23 dBFS, 20 s: −23.0 ± 0.1 LUFS.
    // Test 2: at −33 dBFS: −33.0.
    [Theory]
    [InlineData(-23)]
    [InlineData(-33)]
    public void Stereo_1_kHz_reads_its_level(double dbfs)
    {
        float[] sine = Sine(1000, Math.Pow(10, dbfs / 20), 20, 48000, 0);
        Assert.Equal(dbfs, Loudness.IntegratedLufs(new StereoSound(sine, sine, 48000)), 0.1);
    }

    // EBU Tech 3341, tests 3 and 4: quiet stretches are gated away, −23.0 ± 0.1 LUFS remains.
    [Theory]
    [InlineData(new double[] { -36, -23, -36 }, new double[] { 10, 60, 10 })]
    [InlineData(new double[] { -72, -36, -23, -36, -72 }, new double[] { 10, 10, 60, 10, 10 })]
    public void Quiet_stretches_are_gated(double[] dbfs, double[] seconds)
    {
        float[] sine = [.. dbfs.Zip(seconds).SelectMany(part => Sine(1000, Math.Pow(10, part.First / 20), part.Second, 48000, 0))];
        Assert.Equal(-23, Loudness.IntegratedLufs(new StereoSound(sine, sine, 48000)), 0.1);
    }

    // EBU Tech 3341, test 5: 20 s at −26, 20.1 s at −20 and 20 s at −26 dBFS: all above the gates, mean power counts: −23.0 ± 0.1.
    [Fact]
    public void Changing_levels_are_averaged_in_power()
    {
        float[] sine = [.. new[] { (-26.0, 20.0), (-20.0, 20.1), (-26.0, 20.0) }.SelectMany(part => Sine(1000, Math.Pow(10, part.Item1 / 20), part.Item2, 48000, 0))];
        Assert.Equal(-23, Loudness.IntegratedLufs(new StereoSound(sine, sine, 48000)), 0.1);
    }

    [Fact]
    public void Silence_and_a_blink_have_no_loudness()
    {
        Assert.Equal(double.NegativeInfinity, Loudness.IntegratedLufs(new StereoSound(new float[48000], new float[48000], 48000)));
        float[] blink = Sine(1000, 1, 0.3, 48000, 0);
        Assert.Equal(double.NegativeInfinity, Loudness.IntegratedLufs(new StereoSound(blink, blink, 48000)));
    }

    [Fact]
    public void Blocks_of_any_size_give_the_same_loudness()
    {
        float[] sine = Sine(440, 0.3, 3, 44100, 0);
        var whole = new LoudnessMeter(44100);
        whole.Add(sine, sine);
        var pieces = new LoudnessMeter(44100);
        for (int i = 0; i < sine.Length; i += 333)
        {
            ReadOnlySpan<float> part = sine.AsSpan(i, Math.Min(333, sine.Length - i));
            pieces.Add(part, part);
        }

        Assert.Equal(whole.IntegratedLufs(), pieces.IntegratedLufs(), 1e-9);
    }

    // EBU Tech 3341, tests 15 to 18: sines at a quarter, a sixth and an eighth of the rate whose peaks fall
    // between samples read −6.0 dBTP, tolerance +0.2 −0.4 dB.
    [Theory]
    [InlineData(4, 45)]
    [InlineData(6, 60)]
    [InlineData(8, 67.5)]
    public void A_peak_between_samples_is_found(int samplesPerTurn, double degrees)
    {
        float[] sine = Sine(48000.0 / samplesPerTurn, 0.5, 1, 48000, degrees);
        // The switch-on of a sine is not part of the published signal, which fades in.
        for (int i = 0; i < 4800; i++)
        {
            sine[i] *= i / 4800f;
            sine[^(i + 1)] *= i / 4800f;
        }

        double dbtp = Loudness.TruePeakDbtp(new StereoSound(sine, new float[sine.Length], 48000));
        Assert.InRange(dbtp, -6.02 - 0.4, -6.02 + 0.2);
    }

    private static float[] Sine(double hertz, double amplitude, double seconds, int rate, double degrees) =>
        [.. Enumerable.Range(0, (int)(seconds * rate)).Select(i => (float)(amplitude * Math.Sin((2 * Math.PI * hertz * i / rate) + (degrees * Math.PI / 180))))];
}
