namespace Hindbeat.Rebuilding;

/// <summary>
/// Where a recorded stroke begins: the first moment its amplitude reaches −40 dB under its own peak,
/// found between samples by a straight line. What lies before the first sample counts as silence.
/// </summary>
/// <remarks>
/// −40 dB is where "the first moment its energy leaves what was sounding" can still be told from the
/// microphones' floor on the softest layers (their floor lies 45 to 60 dB under the peak). A fixed level
/// in dBFS would find loud strokes earlier than soft ones and so turn loudness into timing.
/// </remarks>
internal static class StrokeOnset
{
    public const double ThresholdDb = -40;

    /// <summary>Fractional, zero-based sample; −1 &lt; onset. A silent stroke has none and throws.</summary>
    /// <exception cref="ArgumentException">All samples are zero.</exception>
    public static double Find(ReadOnlySpan<float> samples)
    {
        float peak = 0;
        foreach (float sample in samples)
            peak = Math.Max(peak, Math.Abs(sample));
        if (peak == 0)
            throw new ArgumentException("A silent sound has no onset.", nameof(samples));
        double threshold = peak * Math.Pow(10, ThresholdDb / 20);
        double before = 0;
        for (int i = 0; i < samples.Length; i++)
        {
            double now = Math.Abs(samples[i]);
            if (now >= threshold)
                return i - 1 + ((threshold - before) / (now - before));
            before = now;
        }

        throw new ArgumentException("No sample reaches the threshold; is a sample NaN?", nameof(samples));
    }
}
