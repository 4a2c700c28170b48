using Hindbeat.Units;

namespace Hindbeat.Sound;

/// <summary>Two channels of equal length in memory, full scale = ±1: what is rebuilt and played.</summary>
public sealed class StereoSound
{
    /// <exception cref="ArgumentException">The channels differ in length.</exception>
    public StereoSound(float[] left, float[] right, int sampleRate)
    {
        ArgumentNullException.ThrowIfNull(left);
        ArgumentNullException.ThrowIfNull(right);
        if (left.Length != right.Length)
            throw new ArgumentException($"The left channel has {left.Length} samples, the right one {right.Length}.", nameof(right));
        ArgumentOutOfRangeException.ThrowIfLessThan(sampleRate, 1);
        Left = left;
        Right = right;
        SampleRate = sampleRate;
    }

    public float[] Left { get; }
    public float[] Right { get; }
    public int SampleRate { get; }
    public Seconds Duration => Seconds.Of((double)Left.Length / SampleRate);
}
