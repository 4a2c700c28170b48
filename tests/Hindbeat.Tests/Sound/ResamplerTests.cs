using Hindbeat.Sound;

namespace Hindbeat.Tests.Sound;

/// <summary>Resampling moves nothing in time and lets no treble fold back.</summary>
public class ResamplerTests
{
    private const int To = MonoSound.AnalysisRate;

    public static TheoryData<int> Rates => [8000, 11025, 22050, 32000, 44056, 48000, 88200, 96000, 176400, 192000];

    [Theory]
    [MemberData(nameof(Rates))]
    public void A_stroke_stays_at_its_time_at_both_ends_and_between(int rate)
    {
        int length = rate * 3;
        foreach (double seconds in new[] { 0.02, 1.4375, 2.97 })
        {
            // A Gaussian pulse has no energy beyond the cut-off, so its centre of gravity is its time exactly.
            double at = seconds * rate;
            double width = Math.Max(3.0, 3.0 * rate / To);
            float[] pulse = [.. Enumerable.Range(0, length).Select(i => (float)Math.Exp(-0.5 * Math.Pow((i - at) / width, 2)))];
            float[] result = Resampler.Resample(pulse, rate, To);
            Assert.Equal(length * (long)To / rate, result.Length, 1.0);
            double weight = 0;
            double moment = 0;
            int centre = (int)(seconds * To);
            for (int i = Math.Max(0, centre - 800); i < Math.Min(result.Length, centre + 800); i++)
            {
                weight += result[i];
                moment += (double)result[i] * i;
            }

            Assert.InRange((moment / weight) - (seconds * To), -0.05, 0.05);
        }
    }

    [Theory]
    [MemberData(nameof(Rates))]
    public void The_first_and_last_samples_are_kept(int rate)
    {
        float[] ones = new float[rate / 10];
        ones[0] = 1;
        ones[^1] = 1;
        float[] result = Resampler.Resample(ones, rate, To);
        int first = Array.IndexOf(result, result[..100].Max());
        Assert.Equal(0, first);
        double lastAt = (ones.Length - 1.0) * To / rate;
        int last = Array.LastIndexOf(result, result[^100..].Max());
        // The output's last sample may lie up to one of its own samples before the input's last.
        Assert.InRange(last - lastAt, -1.0, 0.5);
    }

    [Theory]
    [InlineData(48000)]
    [InlineData(96000)]
    [InlineData(192000)]
    public void A_tone_that_cannot_be_kept_is_removed(int rate)
    {
        // 23.5 kHz would come back as 20.6 kHz. −90 dB is the 100 dB of the design less float rounding.
        float[] result = Resampler.Resample(Tone(23500, rate, 1.0), rate, To);
        double rms = Math.Sqrt(result.Skip(2000).SkipLast(2000).Average(x => (double)x * x));
        Assert.True(20 * Math.Log10(rms) < -90, $"{20 * Math.Log10(rms):0.0} dB");
    }

    [Theory]
    [InlineData(8000, 3000)]
    [InlineData(22050, 8000)]
    [InlineData(48000, 15000)]
    [InlineData(192000, 18000)]
    public void A_tone_in_the_pass_band_is_the_same_tone(int rate, double hertz)
    {
        float[] result = Resampler.Resample(Tone(hertz, rate, 1.0), rate, To);
        float[] wanted = Tone(hertz, To, 1.0);
        double worst = 0;
        for (int i = 2000; i < result.Length - 2000; i++)
            worst = Math.Max(worst, Math.Abs(result[i] - wanted[i]));
        Assert.True(worst < 1e-4, $"{worst}");
    }

    [Fact]
    public void Pieces_of_any_size_give_the_same_as_the_whole()
    {
        var random = new Random(3);
        float[] noise = [.. Enumerable.Range(0, 50000).Select(_ => (float)(random.NextDouble() - 0.5))];
        float[] whole = Resampler.Resample(noise, 48000, To);
        var pieces = new List<float>();
        var streaming = new StreamingResampler(48000, To);
        for (int at = 0; at < noise.Length;)
        {
            int count = Math.Min(random.Next(1, 12000), noise.Length - at);
            streaming.Push(noise.AsSpan(at, count), piece => pieces.AddRange(piece));
            at += count;
        }

        streaming.Finish(piece => pieces.AddRange(piece));
        Assert.Equal(whole, pieces);
    }

    private static float[] Tone(double hertz, int rate, double seconds) =>
        [.. Enumerable.Range(0, (int)(rate * seconds)).Select(i => (float)Math.Sin(2 * Math.PI * hertz * i / rate))];
}
