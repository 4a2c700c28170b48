using Hindbeat.Performances;

namespace Hindbeat.Sound;

/// <summary>What every decoder here shares: its doubts and how far through the file it is.</summary>
internal abstract class DecodedSound : ISoundReader
{
    private readonly List<Doubt> _doubts = [];

    public abstract int SampleRate { get; }
    public abstract int Channels { get; }
    public abstract string Format { get; }

    /// <summary>Some are known only when the end was reached (a file cut short, say): ask after reading.</summary>
    public virtual IReadOnlyList<Doubt> Doubts => _doubts;

    /// <summary>Share of the file that was read, 0 to 1; 0 throughout when it cannot be known.</summary>
    public abstract double Progress { get; }

    public abstract int Read(Span<float> interleaved);

    /// <summary>
    /// Passes over frames without giving them; returns how many there were. Files of plain samples jump,
    /// the others decode and drop.
    /// </summary>
    public virtual long Skip(long frames)
    {
        float[] dropped = new float[Channels * 4096];
        long done = 0;
        while (done < frames)
        {
            int wanted = (int)Math.Min(dropped.Length / Channels, frames - done);
            int got = Read(dropped.AsSpan(0, wanted * Channels)) / Channels;
            if (got == 0)
                break;
            done += got;
        }

        return done;
    }

    public void Dispose()
    {
        Dispose(true);
        GC.SuppressFinalize(this);
    }

    protected abstract void Dispose(bool disposing);

    protected void Raise(Doubt doubt)
    {
        if (!_doubts.Contains(doubt))
            _doubts.Add(doubt);
    }
}
