using System.Buffers.Binary;
using Concentus;
using Hindbeat.Units;

namespace Hindbeat.Sound;

/// <summary>
/// Ogg Opus, decoded by Concentus at 48 kHz, without the encoder's pre-skip and cut at the last page's
/// position. Source: T. Terriberry, R. Lee, R. Giles, RFC 7845, "Ogg Encapsulation for the Opus Audio Codec" (2016).
/// </summary>
internal sealed class OpusSoundReader : DecodedSound
{
    /// <summary>Opus always decodes at 48 kHz; what the header calls the input rate is only a note.</summary>
    private const int Rate = 48000;

    /// <summary>The longest packet lasts 120 ms.</summary>
    private const int MostFrames = Rate * 120 / 1000;

    private readonly Stream _stream;
    private readonly OggPackets _packets;
    private readonly IOpusMultiStreamDecoder _decoder;
    private readonly float _gain;
    private readonly int[]? _order;
    private readonly float[] _decoded;
    private int _decodedFrom;
    private int _decodedTo;
    private long _preSkip;
    private long _position;
    private bool _positionKnown;
    private bool _closed;
    private bool _ended;

    // Managed code on every machine, so that one file gives the same samples everywhere.
    static OpusSoundReader() => OpusCodecFactory.AttemptToUseNativeLibrary = false;

    public OpusSoundReader(Stream stream, string name)
    {
        _stream = stream;
        _packets = new OggPackets(stream);
        byte[] head = _packets.Next() is { } first ? first.Data.ToArray() : [];
        // The second packet holds names and comments, which tell nothing of the sound.
        if (head.Length < 19 || _packets.Next() is null)
            throw new InputException($"{name} looks like Opus but its headers are damaged or cut short.");
        Channels = head[9];
        SoundLimits.CheckChannels(Channels, name);
        _preSkip = BinaryPrimitives.ReadUInt16LittleEndian(head.AsSpan(10));
        _gain = (float)Math.Pow(10.0, BinaryPrimitives.ReadInt16LittleEndian(head.AsSpan(16)) / (20.0 * 256.0));
        int family = head[18];
        (int streams, int coupled, byte[] mapping) = Mapping(head, family, Channels, name);
        try
        {
            _decoder = OpusCodecFactory.CreateMultiStreamDecoder(Rate, Channels, streams, coupled, mapping);
        }
        catch (Exception e) when (e is ArgumentException or OpusException)
        {
            throw new InputException($"{name} maps its Opus streams to channels in a way that cannot be; its header is damaged.", e);
        }

        _order = family == 1 ? ChannelOrder.FromVorbis(Channels) : null;
        _decoded = new float[MostFrames * Channels];
    }

    public override int SampleRate => Rate;
    public override int Channels { get; }
    public override string Format => "Opus";
    public override double Progress => _stream.Length > 0 ? (double)_stream.Position / _stream.Length : 0;

    public override int Read(Span<float> interleaved)
    {
        int written = 0;
        while (written < interleaved.Length)
        {
            if (_decodedFrom == _decodedTo && !DecodeNext())
                break;
            int count = Math.Min(interleaved.Length - written, _decodedTo - _decodedFrom);
            _decoded.AsSpan(_decodedFrom, count).CopyTo(interleaved[written..]);
            _decodedFrom += count;
            written += count;
        }

        return written;
    }

    protected override void Dispose(bool disposing)
    {
        if (disposing)
            _stream.Dispose();
    }

    private bool DecodeNext()
    {
        while (!_ended)
        {
            if (_packets.Next() is not { } packet)
            {
                End();
                return false;
            }

            int frames;
            try
            {
                frames = _decoder.DecodeMultistream(packet.Data.Span, _decoded, MostFrames, false);
            }
            catch (Exception e) when (e is OpusException or ArgumentException or IndexOutOfRangeException)
            {
                Raise(new SoundDamaged("Opus file"));
                continue;
            }

            if (frames > 0 && Keep(frames, packet))
                return true;
        }

        return false;
    }

    /// <summary>Takes pre-skip off the front and what lies past the final position off the end.</summary>
    private bool Keep(int frames, OggPacket packet)
    {
        long before = _position;
        _position += frames;
        if (packet.Granule >= 0 && !_positionKnown && !packet.EndOfStream)
        {
            // A stream cut out of a longer one starts at a later position than 0.
            _position = packet.Granule;
            before = _position - frames;
            _positionKnown = true;
        }

        if (packet.EndOfStream)
        {
            _closed = true;
            if (packet.Granule >= 0)
                frames = (int)Math.Clamp(packet.Granule - before, 0, frames);
        }

        int skip = (int)Math.Min(_preSkip, frames);
        _preSkip -= skip;
        _decodedFrom = skip * Channels;
        _decodedTo = frames * Channels;
        Span<float> kept = _decoded.AsSpan(_decodedFrom, _decodedTo - _decodedFrom);
        if (_gain != 1f)
            System.Numerics.Tensors.TensorPrimitives.Multiply(kept, _gain, kept);
        ChannelOrder.Apply(_order, kept);
        return kept.Length > 0;
    }

    private void End()
    {
        _ended = true;
        if (_packets.DamagedPages > 0)
            Raise(new SoundDamaged("Opus file"));
        if (!_closed)
            Raise(new SoundCutShort((double)_position / Rate, null));
        else if (_packets.SawAnotherStream || _stream.Position < _stream.Length)
            Raise(new OnlyFirstRecording());
    }

    private static (int Streams, int Coupled, byte[] Mapping) Mapping(byte[] head, int family, int channels, string name)
    {
        if (family == 0 && channels <= 2)
            return (1, channels - 1, channels == 1 ? [0] : [0, 1]);
        if (head.Length < 21 + channels)
            throw new InputException($"{name} looks like Opus but its header is damaged.");
        return (head[19], head[20], head[21..(21 + channels)]);
    }
}
