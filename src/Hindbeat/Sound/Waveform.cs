using System.Numerics.Tensors;

namespace Hindbeat.Sound;

/// <summary>The outline of a sound, for drawing.</summary>
public static class Waveform
{
    private const int SamplesAtOnce = 1 << 16;

    /// <summary>
    /// Lowest and highest sample of each column. Column c spans samples ⌊c·n/columns⌋ to ⌊(c+1)·n/columns⌋, at
    /// least one; with more columns than samples, neighbours share a sample. A sound of no length gives zeros.
    /// </summary>
    /// <exception cref="ArgumentOutOfRangeException">Fewer than one column.</exception>
    public static (float Low, float High)[] Peaks(MonoSound sound, int columns)
    {
        ArgumentNullException.ThrowIfNull(sound);
        return Peaks(sound, columns, 0, sound.Length);
    }

    /// <summary>The same for a stretch of the sound.</summary>
    /// <param name="start">First sample.</param>
    /// <param name="length">Number of samples; what lies outside the sound counts as silence.</param>
    public static (float Low, float High)[] Peaks(MonoSound sound, int columns, long start, long length)
    {
        ArgumentNullException.ThrowIfNull(sound);
        ArgumentOutOfRangeException.ThrowIfLessThan(columns, 1);
        var peaks = new (float Low, float High)[columns];
        if (length <= 0)
            return peaks;
        float[] buffer = new float[Math.Min(SamplesAtOnce, Math.Max(1, length))];
        for (int column = 0; column < columns; column++)
        {
            long from = (long)((Int128)column * length / columns);
            long to = Math.Max(from + 1, (long)((Int128)(column + 1) * length / columns));
            (float low, float high) = (float.PositiveInfinity, float.NegativeInfinity);
            for (long at = from; at < to; at += buffer.Length)
            {
                Span<float> piece = buffer.AsSpan(0, (int)Math.Min(buffer.Length, to - at));
                sound.Read(start + at, piece);
                low = Math.Min(low, TensorPrimitives.Min<float>(piece));
                high = Math.Max(high, TensorPrimitives.Max<float>(piece));
            }

            peaks[column] = (low, high);
        }

        return peaks;
    }
}
