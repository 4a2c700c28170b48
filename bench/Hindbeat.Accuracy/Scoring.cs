namespace Hindbeat.Accuracy;

/// <summary>Counts of one comparison of heard moments with true ones, and the errors of the matched pairs.</summary>
/// <param name="ErrorsMs">Heard − true of each matched pair, milliseconds, positive = late.</param>
internal sealed record Score(int True, int Heard, int Matched, IReadOnlyList<double> ErrorsMs)
{
    public static Score Nothing { get; } = new(0, 0, 0, []);

    public double Precision => Heard == 0 ? double.NaN : (double)Matched / Heard;
    public double Recall => True == 0 ? double.NaN : (double)Matched / True;

    /// <summary>2·matched / (true + heard); NaN when there is nothing on either side.</summary>
    public double F => True + Heard == 0 ? double.NaN : 2.0 * Matched / (True + Heard);

    /// <summary>Median error, milliseconds.</summary>
    public double BiasMs => Statistics.Median(ErrorsMs);

    /// <summary>Median absolute deviation from the median error, milliseconds.</summary>
    public double ScatterMs => Statistics.MedianAbsoluteDeviation(ErrorsMs);

    public static Score operator +(Score a, Score b) =>
        new(a.True + b.True, a.Heard + b.Heard, a.Matched + b.Matched, [.. a.ErrorsMs, .. b.ErrorsMs]);
}

/// <summary>
/// Do the heard moments stand where the true ones do? One-to-one matching within a window, as many
/// pairs as possible.
/// </summary>
/// <remarks>
/// Windows after mir_eval (Raffel et al., ISMIR 2014): ±50 ms for onsets, ±70 ms for beats; <see cref="Pairing"/> says which moments are paired.
/// </remarks>
internal static class Scoring
{
    /// <param name="truth">Seconds, ascending.</param>
    /// <param name="heard">Seconds, ascending.</param>
    public static Score Match(IReadOnlyList<double> truth, IReadOnlyList<double> heard, double windowMs)
    {
        var pairs = Pairing.Nearest(truth, heard, windowMs);
        return new Score(truth.Count, heard.Count, pairs.Count, [.. pairs.Select(pair => (heard[pair.Heard] - truth[pair.True]) * 1000.0)]);
    }

    /// <summary>Beats before 5 s are left out on both sides when the passage is long enough (mir_eval's default).</summary>
    public static Score MatchBeats(IReadOnlyList<double> truth, IReadOnlyList<double> heard, double windowMs = 70.0)
    {
        const double warmUp = 5.0;
        bool isLong = truth.Count > 0 && truth[^1] > 2 * warmUp;
        double from = isLong ? warmUp : double.NegativeInfinity;
        double to = truth.Count > 0 ? truth[^1] + 0.2 : double.PositiveInfinity;
        return Match([.. truth.Where(t => t >= from)], [.. heard.Where(t => t >= from && t <= to)], windowMs);
    }
}

internal static class Statistics
{
    public static double Median(IReadOnlyList<double> values)
    {
        if (values.Count == 0)
            return double.NaN;
        double[] sorted = [.. values.Order()];
        return sorted.Length % 2 == 1
            ? sorted[sorted.Length / 2]
            : (sorted[(sorted.Length / 2) - 1] + sorted[sorted.Length / 2]) / 2.0;
    }

    public static double MedianAbsoluteDeviation(IReadOnlyList<double> values)
    {
        double median = Median(values);
        return Median([.. values.Select(value => Math.Abs(value - median))]);
    }

    /// <summary>The value below which a share (0 to 1) of the values lie, nearest rank.</summary>
    public static double Quantile(IReadOnlyList<double> values, double share)
    {
        if (values.Count == 0)
            return double.NaN;
        double[] sorted = [.. values.Order()];
        return sorted[Math.Clamp((int)Math.Ceiling(share * sorted.Length) - 1, 0, sorted.Length - 1)];
    }
}
