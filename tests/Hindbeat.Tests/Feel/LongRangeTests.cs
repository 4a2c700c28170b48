using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Tests.Feel;

/// <summary>Fluctuation exponents of rows whose exponent is known (Peng et al. 1994: ½ for white noise, 3/2 for a random walk; from memory).</summary>
public class LongRangeTests
{
    [Fact]
    public void White_noise_has_one_half_and_the_interval_holds_it_nineteen_times_in_twenty()
    {
        int held = 0;
        const int Rows = 200;
        var random = new Random(1);
        for (int row = 0; row < Rows; row++)
        {
            double[] noise = [.. Enumerable.Range(0, 600).Select(_ => InventedFeel.Normal(random))];
            double exponent = Fluctuation.Exponent(noise);
            held += Math.Abs(exponent - 0.5) <= 1.96 * LongRange.StandardError(exponent, noise.Length) ? 1 : 0;
        }

        Assert.InRange(held, 0.90 * Rows, 0.99 * Rows);
    }

    [Fact]
    public void A_random_walk_has_three_halves_and_made_up_slips_have_about_none()
    {
        var random = new Random(2);
        double[] noise = [.. Enumerable.Range(0, 2049).Select(_ => InventedFeel.Normal(random))];
        double sum = 0;
        Assert.Equal(1.5, Fluctuation.Exponent([.. noise.Select(value => sum += value)]), 0.2);
        Assert.Equal(0, Fluctuation.Exponent([.. noise.Skip(1).Zip(noise, (later, earlier) => later - earlier)]), 0.1);
    }

    [Fact]
    public void Independent_strokes_around_the_beat_are_told_from_a_hand_that_drifts_on_and_short_passages_tell_nothing()
    {
        static Performance Hats(int bars, bool walks)
        {
            var random = new Random(3);
            double walk = 0;
            var typed = new List<Hit>();
            Pulse pulse = new Typed(100, bars).Pulse;
            for (int k = 0; k < bars * 8; k++)
            {
                BarPosition place = pulse.PositionAt(new Fraction(k, 2));
                walk = walks ? walk + (2 * InventedFeel.Normal(random)) : 4 * InventedFeel.Normal(random);
                typed.Add(new Hit(pulse.TimeAt(place) + Seconds.FromMilliseconds(walk), KitPiece.HatClosed, 80, Level.FromDbfs(-20), 1) { Position = place });
            }

            return new Performance(pulse, typed);
        }

        Assert.True(Assert.Single(FeelAnalysis.Measure(Hats(70, walks: false)).LongRange).Exponent.High < 0.5);
        Assert.True(Assert.Single(FeelAnalysis.Measure(Hats(70, walks: true)).LongRange).Exponent is { Low: < 0.5, High: > 0.4 });
        Assert.Empty(FeelAnalysis.Measure(Hats(60, walks: false)).LongRange);
        Assert.Contains("512", Assert.Throws<ArgumentException>(() => Fluctuation.Exponent(new double[100])).Message, StringComparison.Ordinal);
    }
}
