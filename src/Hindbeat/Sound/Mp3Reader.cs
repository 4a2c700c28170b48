using Hindbeat.Units;
using NLayer;

namespace Hindbeat.Sound;

/// <summary>
/// MP3, decoded by NLayer and trimmed to the recording by the file's own tag. Untrimmed, every stroke
/// would come about 25 ms late, more than most lay-backs.
/// </summary>
internal sealed class Mp3Reader : DecodedSound
{
    private readonly Stream _stream;
    private readonly MpegFile _file;
    private readonly Mp3Tag? _tag;
    private readonly string _name;
    private long _toSkip;
    private long _left;
    private long _given;
    private bool _ended;

    public Mp3Reader(Stream stream, string name)
    {
        _stream = stream;
        _name = name;
        byte[] head = new byte[4096];
        stream.ReadAtLeast(head.AsSpan(0, 10), 10, false);
        stream.Position = Math.Min(Mp3Tag.AfterId3(head), stream.Length);
        int got = stream.ReadAtLeast(head, head.Length, false);
        _tag = Mp3Tag.Parse(head.AsSpan(0, got));
        stream.Position = 0;
        try
        {
            _file = new MpegFile(stream);
        }
        catch (Exception e) when (e is InvalidDataException or EndOfStreamException or IndexOutOfRangeException or ArgumentException)
        {
            throw new InputException($"{name} looks like an MP3 but holds no whole frame; it was probably not downloaded to the end.", e);
        }

        _toSkip = _tag?.SamplesToSkip ?? 0;
        _left = _tag is { } tag ? tag.Samples : long.MaxValue;
        if (_tag is null)
            Raise(new EncoderDelayUnknown("MP3"));
    }

    public override int SampleRate => _file.SampleRate;
    public override int Channels => _file.Channels;
    public override string Format => "MP3";
    public override double Progress => _stream.Length > 0 ? (double)_stream.Position / _stream.Length : 0;

    public override int Read(Span<float> interleaved)
    {
        while (_toSkip > 0)
        {
            int wanted = (int)Math.Min(interleaved.Length / Channels, _toSkip);
            int skipped = Decode(interleaved[..(wanted * Channels)]) / Channels;
            if (skipped == 0)
                return 0;
            _toSkip -= skipped;
        }

        int frames = (int)Math.Min(interleaved.Length / Channels, _left);
        if (frames == 0)
            return 0;
        int got = Decode(interleaved[..(frames * Channels)]) / Channels;
        _left -= got;
        _given += got;
        if (got == 0 && !_ended)
        {
            _ended = true;
            // The decoder keeps its own delay back at the very end; a shortfall beyond a frame is a cut file.
            if (_tag is { } tag && _left > tag.SamplesPerFrame)
                Raise(new SoundCutShort((double)_given / SampleRate, (double)tag.Samples / SampleRate));
        }

        return got * Channels;
    }

    protected override void Dispose(bool disposing)
    {
        if (!disposing)
            return;
        _file.Dispose();
        _stream.Dispose();
    }

    private int Decode(Span<float> samples)
    {
        try
        {
            return _file.ReadSamples(samples);
        }
        catch (Exception e) when (e is InvalidDataException or EndOfStreamException or IndexOutOfRangeException or ArgumentException)
        {
            throw new InputException($"{_name} is damaged {(double)_given / SampleRate:0.0} s from its start and cannot be decoded as MP3.", e);
        }
    }
}
