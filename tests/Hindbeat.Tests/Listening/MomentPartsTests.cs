using Hindbeat.Listening;

namespace Hindbeat.Tests.Listening;

/// <summary>Powers that were mixed from known parts are parted into them again.</summary>
public class MomentPartsTests
{
    private const int Bands = StrokePowers.Bands;

    /// <summary>Powers that fall or rise by so many decibels a band.</summary>
    private static double[] Slope(double decibels) => [.. Enumerable.Range(0, Bands).Select(band => Math.Pow(10, ((band - (Bands / 2)) * decibels / 10) - 3))];

    private static MomentParts Parted(double kick, double hat, double before, bool told = true)
    {
        (double[] low, double[] high) = (Slope(-3), Slope(3));
        double[] sounding = [.. Slope(0).Select(power => before * power)];
        double[] heard = [.. Enumerable.Range(0, Bands).Select(band => sounding[band] + (kick * low[band]) + (hat * high[band]))];
        MomentParts parts = new();
        parts.Begin(high);
        if (told)
            parts.Add(low, 1);
        parts.Solve(sounding, heard);
        return parts;
    }

    [Theory]
    [InlineData(1, 1, 0.1)]
    [InlineData(4, 0.25, 0.1)]
    [InlineData(0.5, 2, 1)]
    public void A_hat_under_a_kick_has_its_own_level(double kick, double hat, double before)
    {
        MomentParts parts = Parted(kick, hat, before);
        double wanted = 10 * Math.Log10(hat);
        Assert.Equal(wanted, parts.Gain, 0.2);

        // Where most of a band is the hat's, it says so, and says the hat's level by itself.
        for (int band = 0; band < Bands; band++)
        {
            double own = hat * Slope(3)[band] / ((hat * Slope(3)[band]) + (kick * Slope(-3)[band]) + (before * Slope(0)[band]));
            Assert.Equal(own, parts.Share[band], 0.03);
            if (own > 0.5)
                Assert.Equal(wanted, parts.Decibels[band], 0.3);
        }
    }

    [Fact]
    public void Without_a_word_of_the_kick_it_is_taken_for_the_hat() =>
        Assert.True(Parted(4, 0.25, 0.1, told: false).Gain > Parted(4, 0.25, 0.1).Gain + 3);

    [Fact]
    public void A_seventh_piece_is_left_out_and_silence_has_a_level()
    {
        MomentParts parts = new();
        double[] usual = Slope(1);
        parts.Begin(usual);
        for (int i = 0; i < 8; i++)
            parts.Add(Slope(i), 1);
        Assert.Equal(MomentParts.Most, parts.Count);
        double[] silence = [.. Enumerable.Repeat(1e-11, Bands)];
        parts.Solve(silence, silence);
        Assert.True(double.IsFinite(parts.Gain));
        Assert.All(parts.Decibels, decibels => Assert.True(double.IsFinite(decibels)));
    }
}
