using Hindbeat.Pulses;

namespace Hindbeat.Tests.Pulses;

public class SmoothCurveTests
{
    [Fact]
    public void Degrees_of_freedom_match_the_smoother_matrix_built_by_pushing_each_stroke()
    {
        // Trace by definition: how much each fitted value moves when its own datum moves.
        Random random = new(1);
        double[] places = [.. Enumerable.Range(0, 40).Select(_ => random.NextDouble() * 11).Order()];
        double[] times = [.. places.Select(p => (0.5 * p) + (0.01 * random.NextDouble()))];
        double[] weights = [.. places.Select(_ => 0.3 + random.NextDouble())];
        SmoothCurve curve = SmoothCurve.Fit(places, times, weights, 12, 3);
        double trace = 0;
        for (int i = 0; i < places.Length; i++)
        {
            double[] pushed = [.. times];
            pushed[i] += 1;
            trace += SmoothCurve.Fit(places, pushed, weights, 12, 3).At(places[i]) - curve.At(places[i]);
        }

        Assert.Equal(trace, curve.DegreesOfFreedom, 6);
    }

    [Fact]
    public void Endless_smoothness_is_the_line_of_least_squares()
    {
        double[] places = [0, 1, 2.5, 3, 4, 5.5, 6];
        double[] times = [0.1, 0.52, 1.4, 1.55, 2.2, 2.9, 3.1];
        double[] weights = [1, 1, 1, 1, 1, 1, 1];
        double mean = places.Average();
        double slope = places.Zip(times).Sum(pair => (pair.First - mean) * pair.Second) / places.Sum(p => (p - mean) * (p - mean));
        SmoothCurve curve = SmoothCurve.Fit(places, times, weights, 8, 1e9);
        Assert.Equal(slope, curve.Beats[5] - curve.Beats[4], 5);
        Assert.Equal(2, curve.DegreesOfFreedom, 3);
    }

    [Theory]
    // Abramowitz and Stegun, Handbook of Mathematical Functions, table 6.1 and Γ(n) = (n − 1)!, Γ(1/2) = √π.
    [InlineData(0.5, 0.57236494292470)]
    [InlineData(1, 0)]
    [InlineData(5, 3.17805383034795)]
    [InlineData(0.25, 1.28802252469808)]
    public void Log_gamma(double x, double expected) => Assert.Equal(expected, LogGamma.Of(x), 8);
}
