using System.Numerics.Tensors;

namespace Hindbeat.Listening;

/// <summary>The first moment of an averaged stroke: where it first reaches −40 dB of its peak, or leaves what is left of other sounds.</summary>
internal static class ShapeOnset
{
    private const int Rate = StrokeView.Rate;

    /// <summary>−40 dB: where recorded strokes with known truth begin.</summary>
    private const double OfPeak = 0.01;

    /// <summary>Other sounds reach this many times their root mean square less than once in two thousand samples.</summary>
    private const double OverRest = 3.5;

    /// <summary>Of windows of 2 ms before the stroke, this share is quieter than the one that stands for what is left of other sounds.</summary>
    private const double Rest = 0.6;
    private const int Window = (int)(0.002 * Rate);
    private const int Windows = 15;

    /// <summary>
    /// Nor does a stroke begin with less than was reached from 20 to 6 ms before: what is left of strokes taken off lies near, not evenly (a take's kicks came 5 ms early by their toms).
    /// </summary>
    private const int QuietFrom = (int)(0.020 * Rate);
    private const int QuietTo = (int)(0.006 * Rate);

    /// <summary>A stroke that is silent for this long has not begun.</summary>
    private const int Pause = (int)(0.002 * Rate);

    /// <summary>With a threshold over −26 dB of the peak too much is hidden; the strokes' first times then stand.</summary>
    private const double Clear = 0.05;

    /// <summary>The average shows a moment up to this much earlier or later than the strokes' first times say; more is another piece.</summary>
    private const int Earlier = (int)(0.005 * Rate);
    private const int Later = (int)(0.0015 * Rate);

    /// <param name="average">The onset band, from <see cref="ShapeLearner.Before"/> before the point that strokes were laid on.</param>
    /// <param name="usual">Where the strokes' first times lie, samples from that point.</param>
    /// <returns>Samples from that point, negative = earlier, and the threshold's share of the peak; null where what is left of other sounds hides it.</returns>
    public static (int Onset, double Threshold)? Find(ReadOnlySpan<float> average, int usual)
    {
        const int Start = ShapeLearner.Before - StrokeShape.Before;
        double peak = Math.Abs(TensorPrimitives.MaxMagnitude(average[Start..]));
        Span<double> before = stackalloc double[Windows];
        for (int i = 0; i < Windows; i++)
            before[i] = Math.Sqrt(TensorPrimitives.SumOfSquares(average.Slice(i * Window, Window)) / Window);
        before.Sort();
        double threshold = Math.Max(peak * OfPeak, OverRest * before[(int)(Rest * (Windows - 1))]);
        threshold = Math.Max(threshold, Math.Abs(TensorPrimitives.MaxMagnitude(average.Slice(ShapeLearner.Before - QuietFrom, QuietFrom - QuietTo))));
        if (!(threshold < Clear * peak))
            return null;
        int onset = Start;
        while (Math.Abs(average[onset]) < peak / 2)
            onset++;
        for (int i = onset; i > 0 && onset - i < Pause; i--)
        {
            if (Math.Abs(average[i]) >= threshold)
                onset = i;
        }

        onset -= ShapeLearner.Before;
        return onset - usual >= -Earlier && onset - usual <= Later ? (onset, threshold / peak) : null;
    }
}
