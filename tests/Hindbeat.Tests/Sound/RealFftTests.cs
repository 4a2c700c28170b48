using Hindbeat.Sound;

namespace Hindbeat.Tests.Sound;

/// <summary>Against the sum that defines the transform, computed in double precision.</summary>
public class RealFftTests
{
    [Theory]
    [InlineData(8, 3)]
    [InlineData(16, 3)]
    [InlineData(64, 64)]
    [InlineData(4096, 100)]
    [InlineData(1024, 441)]
    public void Powers_of_frames_are_the_squares_of_their_tapered_transforms(int length, int hop)
    {
        Random random = new(length);
        float[] samples = [.. Enumerable.Range(0, (7 * hop) + length).Select(_ => (2 * random.NextSingle()) - 1)];
        float[] taper = [.. Enumerable.Range(0, length).Select(n => 0.5f + (0.5f * n / length))];
        RealFft fft = new(length);
        float[] powers = new float[fft.Bins * RealFft.Lanes];
        fft.Powers(samples, hop, taper, powers);
        for (int lane = 0; lane < RealFft.Lanes; lane++)
        {
            for (int k = 0; k < fft.Bins; k += Math.Max(1, length / 64))
            {
                (double re, double im) = Sum(length, k, n => samples[(lane * hop) + n] * taper[n]);
                Assert.Equal((re * re) + (im * im), powers[(k * RealFft.Lanes) + lane], 1e-4 * length);
            }
        }
    }

    private static (double Re, double Im) Sum(int length, int k, Func<int, float> sample)
    {
        double re = 0;
        double im = 0;
        for (int n = 0; n < length; n++)
        {
            (double sin, double cos) = Math.SinCos(-2 * Math.PI * ((long)k * n % length) / length);
            re += sample(n) * cos;
            im += sample(n) * sin;
        }

        return (re, im);
    }

    [Theory]
    [InlineData(0)]
    [InlineData(4)]
    [InlineData(1000)]
    public void Refuses_lengths_that_are_no_power_of_two(int length) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => new RealFft(length));
}
