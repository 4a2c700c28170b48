namespace Hindbeat.Sound;

/// <summary>Changes the rate of a sound that lies in memory.</summary>
public static class Resampler
{
    /// <summary>
    /// The same sound at another rate, ⌈n·to/from⌉ samples long. What lies at t seconds stays at t seconds;
    /// stop band −100 dB, flat to 0.42 of the lower rate. The input itself when the rates agree.
    /// </summary>
    /// <exception cref="ArgumentOutOfRangeException">A rate is not positive.</exception>
    public static float[] Resample(float[] mono, int fromRate, int toRate)
    {
        ArgumentNullException.ThrowIfNull(mono);
        var resampler = new StreamingResampler(fromRate, toRate);
        if (fromRate == toRate)
            return mono;
        float[] result = new float[(((long)mono.Length * toRate) + fromRate - 1) / fromRate];
        int filled = 0;
        resampler.Push(mono, Append);
        resampler.Finish(Append);
        return result;

        void Append(ReadOnlySpan<float> piece)
        {
            piece.CopyTo(result.AsSpan(filled));
            filled += piece.Length;
        }
    }
}
