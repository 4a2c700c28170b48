using Hindbeat.Units;

namespace Hindbeat.Sound;

/// <summary>
/// The sound that is listened to: one channel at one rate, read in pieces so that an hour need not lie
/// in memory. Sample 0 is the recording's first sample, whatever part of it was loaded.
/// </summary>
public abstract class MonoSound : IDisposable
{
    /// <summary>Hertz. Analysis runs at <see cref="AnalysisRate"/>.</summary>
    public abstract int SampleRate { get; }

    /// <summary>Number of samples.</summary>
    public abstract long Length { get; }

    /// <summary>The rate that listening works at; other rates are resampled to it on loading.</summary>
    public const int AnalysisRate = 44100;

    public Seconds Duration => Seconds.Of((double)Length / SampleRate);

    /// <summary>
    /// Copies samples from <paramref name="start"/> on into <paramref name="destination"/>; what lies
    /// before 0 or past the end is filled with zeros. Allocates nothing. Safe to call from several threads.
    /// </summary>
    public abstract void Read(long start, Span<float> destination);

    /// <summary>A sound that lies in memory (tests, short passages).</summary>
    public static MonoSound FromSamples(float[] samples, int sampleRate = AnalysisRate) => new InMemory(samples, sampleRate);

    public void Dispose()
    {
        Dispose(true);
        GC.SuppressFinalize(this);
    }

    protected virtual void Dispose(bool disposing)
    {
    }

    private sealed class InMemory(float[] samples, int sampleRate) : MonoSound
    {
        public override int SampleRate => sampleRate;
        public override long Length => samples.Length;

        public override void Read(long start, Span<float> destination)
        {
            destination.Clear();
            long from = Math.Max(0, start);
            long to = Math.Min(samples.Length, start + destination.Length);
            if (to > from)
                samples.AsSpan((int)from, (int)(to - from)).CopyTo(destination[(int)(from - start)..]);
        }
    }
}
