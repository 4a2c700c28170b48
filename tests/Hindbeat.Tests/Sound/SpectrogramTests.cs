using Hindbeat.Sound;

namespace Hindbeat.Tests.Sound;

/// <summary>Sounds whose spectrum is known: a sine has one pitch and its level, a click all pitches and one moment.</summary>
public class SpectrogramTests
{
    private const int Rate = 44100, Rows = 96;

    [Theory]
    [InlineData(100)]
    [InlineData(1000)]
    [InlineData(8000)]
    public void A_sine_stands_in_the_row_of_its_pitch_at_its_level(double hertz)
    {
        // 20·log10(0.1) = −20 dB: 255·(1 − 20/90) = 198.3. A sine between two bins of a Hann taper loses up to 1.4 dB (Harris, Proc. IEEE 66, 1978, table 1).
        float[] sine = [.. Enumerable.Range(0, Rate).Select(i => (float)(0.1 * Math.Sin(2 * Math.PI * hertz * i / Rate)))];
        byte[] picture = Spectrogram.Of(new StereoSound(sine, sine, Rate), 0, Rate, 50, Rows);
        byte[] column = picture[(25 * Rows)..(26 * Rows)];
        int loudest = Array.IndexOf(column, column.Max());
        double bin = (double)Rate / 1024;
        Assert.InRange(hertz, Spectrogram.Edge(loudest, Rows) - bin, Spectrogram.Edge(loudest + 1, Rows) + bin);
        Assert.InRange(column.Max(), 198.3 - (1.5 * 255 / 90), 199.5);
        Assert.True(column[^1] < 30 || hertz > 7000, "A pure tone has nothing at 16 kHz.");
    }

    [Fact]
    public void A_click_stands_in_its_column_and_in_no_other_however_wide_they_are()
    {
        foreach (int seconds in new[] { 1, 20 })
        {
            float[] sound = new float[seconds * Rate];
            sound[(int)(0.61 * seconds * Rate)] = 1;
            byte[] picture = Spectrogram.Of(new StereoSound(sound, sound, Rate), 0, sound.Length, 50, Rows);
            for (int column = 0; column < 50; column++)
            {
                bool there = picture.AsSpan(column * Rows, Rows).ContainsAnyInRange((byte)1, (byte)255);
                if (column == 30)
                    Assert.True(there, $"Nothing of the click is seen in {seconds} s.");
                else if (Math.Abs(column - 30) > 1)
                    Assert.False(there, $"The click is seen in column {column} of {seconds} s.");
            }
        }
    }

    [Fact]
    public void Outside_the_sound_there_is_nothing()
    {
        byte[] picture = Spectrogram.Of(new StereoSound([1, 1], [1, 1], Rate), Rate, Rate, 10, 8);
        Assert.All(picture, value => Assert.Equal(0, value));
    }
}
