using Hindbeat.Listening;

namespace Hindbeat.Tests.Listening;

public class RealFftTests
{
    [Theory]
    [InlineData(8)]
    [InlineData(16)]
    [InlineData(64)]
    [InlineData(1024)]
    [InlineData(4096)]
    public void Agrees_with_the_sum_that_defines_the_transform(int length)
    {
        Random random = new(length);
        float[] samples = [.. Enumerable.Range(0, length).Select(_ => (2 * random.NextSingle()) - 1)];
        RealFft fft = new(length);
        float[] real = new float[fft.Bins];
        float[] imaginary = new float[fft.Bins];
        fft.Transform(samples, real, imaginary);
        for (int k = 0; k < fft.Bins; k += Math.Max(1, length / 64))
        {
            double re = 0;
            double im = 0;
            for (int n = 0; n < length; n++)
            {
                (double sin, double cos) = Math.SinCos(-2 * Math.PI * ((long)k * n % length) / length);
                re += samples[n] * cos;
                im += samples[n] * sin;
            }

            Assert.Equal(re, real[k], 2e-4 * Math.Sqrt(length));
            Assert.Equal(im, imaginary[k], 2e-4 * Math.Sqrt(length));
        }
    }

    [Theory]
    [InlineData(0)]
    [InlineData(4)]
    [InlineData(1000)]
    public void Refuses_lengths_that_are_no_power_of_two(int length) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => new RealFft(length));
}
