namespace Hindbeat.Sound;

/// <summary>Where the samples of an uncompressed file lie.</summary>
/// <param name="Start">Byte at which they begin.</param>
/// <param name="ByteCount">How many bytes of samples are really there; null = to the end of a stream of unknown length.</param>
internal sealed record SampleLayout(
    string Container, int SampleRate, int Channels, SampleFormat Sample, long Start, long? ByteCount)
{
    public int FrameBytes => Channels * Sample.Bytes;
}

/// <summary>Reads the samples of WAV and AIFF, and of the WAV that ffmpeg pipes to us, in order and in pieces.</summary>
internal sealed class PlainSampleReader : DecodedSound
{
    private const int BufferBytes = 1 << 16;

    private readonly Stream _stream;
    private readonly SampleLayout _layout;
    private readonly byte[] _bytes;
    private long _bytesDone;

    /// <param name="stream">Stands at the first sample; owned from here on.</param>
    public PlainSampleReader(Stream stream, SampleLayout layout, IEnumerable<Performances.Doubt> doubts)
    {
        _stream = stream;
        _layout = layout;
        _bytes = new byte[Math.Max(BufferBytes / layout.FrameBytes, 1) * layout.FrameBytes];
        foreach (Performances.Doubt doubt in doubts)
            Raise(doubt);
    }

    public override int SampleRate => _layout.SampleRate;
    public override int Channels => _layout.Channels;
    public override string Format => $"{_layout.Container}, {_layout.Sample.Words}";
    public override double Progress => _layout.ByteCount is { } all && all > 0 ? (double)_bytesDone / all : 0;

    public override int Read(Span<float> interleaved)
    {
        int written = 0;
        while (written < interleaved.Length)
        {
            long left = (_layout.ByteCount ?? long.MaxValue) - _bytesDone;
            int wanted = (int)Math.Min(Math.Min(_bytes.Length, (long)(interleaved.Length - written) * _layout.Sample.Bytes), left);
            wanted -= wanted % _layout.FrameBytes;
            if (wanted == 0)
                break;
            int got = _stream.ReadAtLeast(_bytes.AsSpan(0, wanted), wanted, throwOnEndOfStream: false);
            got -= got % _layout.FrameBytes;
            if (got == 0)
                break;
            _layout.Sample.Unpack(_bytes.AsSpan(0, got), interleaved[written..]);
            written += got / _layout.Sample.Bytes;
            _bytesDone += got;
        }

        return written;
    }

    public override long Skip(long frames)
    {
        if (!_stream.CanSeek || _layout.ByteCount is not { } all)
            return base.Skip(frames);
        long bytes = Math.Min(frames * _layout.FrameBytes, all - _bytesDone);
        _stream.Seek(bytes, SeekOrigin.Current);
        _bytesDone += bytes;
        return bytes / _layout.FrameBytes;
    }

    protected override void Dispose(bool disposing)
    {
        if (disposing)
            _stream.Dispose();
    }
}
