namespace Hindbeat.Tests.Listening;

/// <summary>The eighths that listeners are tried on, and whether strokes were heard where they were laid.</summary>
internal static class StrokeTimes
{
    /// <summary>Seconds.</summary>
    public const double Tolerance = 0.001;

    /// <summary>Some of 32 eighths, 0.3 s apart from 0.5 s on; seconds.</summary>
    public static double[] Eighths(Func<int, bool> which) => [.. Enumerable.Range(0, 32).Where(which).Select(i => 0.5 + (0.3 * i))];

    /// <summary>As many as expected, each within the tolerance; seconds.</summary>
    public static void AssertTimes(double[] expected, double[] heard, double tolerance = Tolerance)
    {
        Assert.Equal(expected.Length, heard.Length);
        for (int i = 0; i < expected.Length; i++)
            Assert.Equal(expected[i], heard[i], tolerance);
    }
}
