using Hindbeat.Listening;

namespace Hindbeat.Tests.Listening;

/// <summary>Strokes of known loudness, measured with an error: those struck alike are called equal, others keep their order.</summary>
public class EqualStrokesTests
{
    private static double[] Drawn(double[] loudness)
    {
        double[] drawn = [.. loudness];
        EqualStrokes.Draw(drawn);
        return drawn;
    }

    /// <summary>An error with the density that is reckoned with: standard deviation <paramref name="db"/>.</summary>
    private static double Error(Random random, double db) => db / Math.Sqrt(2) * Math.Log(1 - random.NextDouble()) * (random.Next(2) == 0 ? 1 : -1);

    private static double Median(List<double> values) => values.Order().ElementAt(values.Count / 2);

    [Fact]
    public void Two_levels_struck_again_and_again_are_found()
    {
        List<double> before = [], after = [];
        for (int seed = 0; seed < 20; seed++)
        {
            Random random = new(seed);
            double[] struck = [.. Enumerable.Range(0, 60).Select(i => i % 4 == 0 ? -14.0 : -6.0)];
            double[] measured = [.. struck.Select(level => level + Error(random, 0.2))];
            before.AddRange(measured.Zip(struck, (a, b) => Math.Abs(a - b)));
            after.AddRange(Drawn(measured).Zip(struck, (a, b) => Math.Abs(a - b)));
        }

        Assert.True(Median(after) < 0.5 * Median(before), $"off by {Median(before):0.000} dB before, {Median(after):0.000} after");
    }

    [Fact]
    public void Equal_strokes_among_a_few_others_come_closer_than_the_velocities_steps()
    {
        Random random = new(3);
        double[] measured = [.. Enumerable.Range(0, 50).Select(i => i % 10 == 9 ? -8 - (0.2 * i) : -3 + Error(random, 0.1))];
        double[] alike = [.. Drawn(measured).Where((_, i) => i % 10 != 9)];
        Assert.True(measured.Where((_, i) => i % 10 != 9).Max() - measured.Where((_, i) => i % 10 != 9).Min() > 0.4);
        Assert.InRange(alike.Max() - alike.Min(), 0, 0.2);
    }

    [Fact]
    public void Order_is_kept_and_strokes_further_apart_than_the_error_hardly_move()
    {
        double[] measured = [.. Enumerable.Range(0, 30).Select(i => -30 + (0.9 * i))];
        double[] drawn = Drawn(measured);
        for (int i = 1; i < drawn.Length; i++)
            Assert.True(drawn[i] > drawn[i - 1] + 0.5, $"{drawn[i - 1]:0.00} and {drawn[i]:0.00} dB of {measured[i - 1]:0.00} and {measured[i]:0.00}");
        Assert.All(drawn.Zip(measured), pair => Assert.InRange(pair.First - pair.Second, -0.2, 0.2));
    }

    [Fact]
    public void A_random_passage_is_drawn_as_a_slow_reckoning_says()
    {
        Random random = new(5);
        double[] measured = [.. Enumerable.Range(0, 40).Select(_ => Math.Round(-20 + (15 * random.NextDouble()), 2))];
        const double Step = 0.05, Error = 0.3;
        double low = measured.Min() - Step;
        int levels = (int)Math.Round((measured.Max() - measured.Min()) / Step) + 3;
        int[] at = [.. measured.Select(value => (int)Math.Round((value - low) / Step))];
        double Density(int a, int b) => Math.Exp(-Math.Sqrt(2) * Step * Math.Abs(a - b) / Error);
        double[] often = [.. Enumerable.Repeat(1.0 / levels, levels)];
        for (int round = 0; round < 60; round++)
        {
            double[] heard = [.. at.Select(i => Enumerable.Range(0, levels).Sum(k => often[k] * Density(i, k)))];
            often = [.. Enumerable.Range(0, levels).Select(k => often[k] * at.Zip(heard, (i, sum) => Density(i, k) / sum).Sum() / measured.Length)];
        }

        double[] expected = [.. at.Select(i => low + (Step * Enumerable.Range(0, levels).Sum(k => k * often[k] * Density(i, k)) / Enumerable.Range(0, levels).Sum(k => often[k] * Density(i, k))))];
        double[] drawn = Drawn(measured);
        for (int i = 0; i < drawn.Length; i++)
            Assert.Equal(expected[i], drawn[i], 1e-6);
    }

    [Fact]
    public void Louder_by_some_decibels_they_are_drawn_alike()
    {
        Random random = new(7);
        double[] measured = [.. Enumerable.Range(0, 25).Select(_ => -12 + (4 * random.NextDouble()))];
        double[] louder = Drawn([.. measured.Select(value => value + 3)]);
        Assert.All(louder.Zip(Drawn(measured)), pair => Assert.Equal(pair.Second + 3, pair.First, 1e-6));
    }

    [Fact]
    public void Of_five_strokes_nothing_is_called_equal()
    {
        double[] measured = [-3, -3.1, -3.2, -9, -9.1];
        Assert.Equal(measured, Drawn(measured));
    }
}
