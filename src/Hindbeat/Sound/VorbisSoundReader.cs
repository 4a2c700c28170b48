using Hindbeat.Units;
using NVorbis;

namespace Hindbeat.Sound;

/// <summary>Ogg Vorbis of one or two channels, decoded by NVorbis, which trims to the last page's position itself.</summary>
internal sealed class VorbisSoundReader : DecodedSound
{
    private readonly Stream _stream;
    private readonly VorbisReader _file;
    private readonly string _name;

    public VorbisSoundReader(Stream stream, string name)
    {
        _stream = stream;
        _name = name;
        try
        {
            // Unclipped: a peak above full scale is part of the recording and its shape dates the stroke.
            _file = new VorbisReader(stream, false) { ClipSamples = false };
        }
        catch (Exception e) when (e is InvalidDataException or ArgumentException or EndOfStreamException or InvalidOperationException)
        {
            throw new InputException($"{name} looks like Ogg Vorbis but its headers are damaged or cut short.", e);
        }

        SoundLimits.CheckRate(_file.SampleRate, name);
        SoundLimits.CheckChannels(_file.Channels, name);
    }

    public override int SampleRate => _file.SampleRate;
    public override int Channels => _file.Channels;
    public override string Format => "Ogg Vorbis";
    public override double Progress => _stream.Length > 0 ? (double)_stream.Position / _stream.Length : 0;

    public override int Read(Span<float> interleaved)
    {
        try
        {
            return _file.ReadSamples(interleaved);
        }
        catch (Exception e) when (e is InvalidDataException or EndOfStreamException or IndexOutOfRangeException or InvalidOperationException)
        {
            throw new InputException($"{_name} is damaged and cannot be decoded as Ogg Vorbis to the end.", e);
        }
    }

    protected override void Dispose(bool disposing)
    {
        if (!disposing)
            return;
        _file.Dispose();
        _stream.Dispose();
    }
}
