namespace Hindbeat.Listening;

/// <summary>Draws a piece's strokes toward the levels that it is struck at in this recording: strokes that differ by no more than measuring does are called equal.</summary>
/// <remarks>
/// Measured = struck + error, the error's density ∝ exp(−√2 |error| / σ). How often each level is struck is what makes the measured ones likeliest, whatever its form (J. Kiefer, J. Wolfowitz, Annals of
/// Mathematical Statistics 1956; rounds of expectation and maximization after N. Laird, JASA 1978; from memory); a stroke becomes the mean of the levels that it may have been struck at. Such a density is spread over
/// neighbours by one pass up and one down, so a round costs two additions a step. docs/decisions/listening-equal-strokes.md holds the measurements.
/// </remarks>
internal static class EqualStrokes
{
    /// <summary>σ, decibels: what strokes of one velocity scatter by where little sounds with them. 0.5 called unequal strokes equal, 0.1 left equal ones apart (train takes, all training kits).</summary>
    private const double ErrorDb = 0.3;

    /// <summary>Levels are this far apart.</summary>
    private const double StepDb = 0.05;

    /// <summary>After 200 rounds ranks were the same, after 20 lower by up to 0.01.</summary>
    private const int Rounds = 60;

    /// <summary>Fewer strokes do not tell which levels are struck again.</summary>
    private const int LeastStrokes = 6;

    private static readonly double Fall = Math.Exp(-Math.Sqrt(2) * StepDb / ErrorDb);

    /// <param name="loudness">Of the strokes of one piece, decibels, finite; overwritten.</param>
    public static void Draw(Span<double> loudness)
    {
        if (loudness.Length < LeastStrokes)
            return;
        (double low, double high) = (double.PositiveInfinity, double.NegativeInfinity);
        foreach (double value in loudness)
            (low, high) = (Math.Min(low, value), Math.Max(high, value));
        int levels = (int)Math.Round((high - low) / StepDb) + 3;
        low -= StepDb;
        double[] counts = new double[levels];
        foreach (double value in loudness)
            counts[Level(value, low)]++;
        double[] often = new double[levels];
        double[] heard = new double[levels];
        double[] ratio = new double[levels];
        often.AsSpan().Fill(1.0 / levels);
        for (int round = 0; round < Rounds; round++)
        {
            Spread(often, heard);
            for (int i = 0; i < levels; i++)
                ratio[i] = counts[i] / heard[i];
            Spread(ratio, heard);
            for (int i = 0; i < levels; i++)
                often[i] *= heard[i] / loudness.Length;
        }

        Spread(often, heard);
        for (int i = 0; i < levels; i++)
            ratio[i] = often[i] * i;
        Spread(ratio, counts);
        foreach (ref double value in loudness)
        {
            int level = Level(value, low);
            value = low + (StepDb * counts[level] / heard[level]);
        }
    }

    private static int Level(double value, double low) => (int)Math.Round((value - low) / StepDb);

    /// <summary>Sums over all levels by the error's density.</summary>
    private static void Spread(double[] from, double[] to)
    {
        double sum = 0;
        for (int i = 0; i < from.Length; i++)
            to[i] = sum = (Fall * sum) + from[i];
        sum = 0;
        for (int i = from.Length - 1; i >= 0; i--)
        {
            to[i] += sum;
            sum = Fall * (sum + from[i]);
        }
    }
}
