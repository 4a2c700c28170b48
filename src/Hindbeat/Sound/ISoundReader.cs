namespace Hindbeat.Sound;

/// <summary>
/// Streams a sound file's frames in order. A frame is one sample per channel; samples are interleaved
/// floats, full scale = ±1.
/// </summary>
public interface ISoundReader : IDisposable
{
    /// <summary>Frames a second, the file's own.</summary>
    int SampleRate { get; }

    /// <summary>1 or more.</summary>
    int Channels { get; }

    /// <summary>What the file is, in words: "WAV, 24 bit".</summary>
    string Format { get; }

    /// <summary>What about the file makes its times less sure (an MP3 without its encoder delay, say).</summary>
    IReadOnlyList<Performances.Doubt> Doubts { get; }

    /// <summary>
    /// Fills <paramref name="interleaved"/> with whole frames; returns how many samples were written, 0
    /// at the end. The span's length is a multiple of <see cref="Channels"/>.
    /// </summary>
    int Read(Span<float> interleaved);
}
