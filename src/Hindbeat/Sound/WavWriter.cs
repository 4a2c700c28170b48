using System.Buffers.Binary;
using Hindbeat.Units;

namespace Hindbeat.Sound;

/// <summary>
/// Writes stereo WAV piece by piece, to a file or to any stream, an hour in constant memory. Samples beyond
/// full scale are written as full scale and counted in <see cref="Clipped"/>.
/// </summary>
/// <remarks>
/// 16 bits get triangular dither of two steps, which makes rounding a noise that does not follow the music
/// (S. Lipshitz, R. Wannamaker, J. Vanderkooy, "Quantization and dither: a theoretical survey", JAES 1992);
/// 24 bits do not: their step lies under any room's noise and a copy must be exact. Beyond 4 GB the header
/// becomes RF64 (EBU Tech 3306).
/// </remarks>
public sealed class WavWriter : IDisposable
{
    /// <summary>Any number: what counts is that the same rebuild gives the same bytes.</summary>
    public const ulong DefaultDitherSeed = 0x48696E6462656174;

    private const int Channels = 2;
    private const int HeaderBytes = 80;
    private const int FramesAtOnce = 4096;

    private readonly Stream _stream;
    private readonly bool _leaveOpen;
    private readonly int _sampleRate;
    private readonly int _bits;
    private readonly string? _temporary;
    private readonly string? _path;
    private readonly byte[] _buffer;
    private readonly List<(long Frame, string Name)> _cues = [];
    private SplitMix64 _dither;
    private long _frames;
    private readonly long? _promised;
    private bool _complete;
    private bool _named;

    /// <param name="stream">Written from where it stands. If it cannot seek, give the length.</param>
    /// <param name="bits">16 or 24.</param>
    /// <param name="frames">How many frames will come; null when not known beforehand.</param>
    /// <param name="ditherSeed">Start of the dither's random numbers.</param>
    /// <exception cref="ArgumentException">The length is neither known nor can be filled in later.</exception>
    public WavWriter(Stream stream, int sampleRate, int bits = 24, long? frames = null, ulong ditherSeed = DefaultDitherSeed, bool leaveOpen = true)
        : this(stream, sampleRate, bits, frames, ditherSeed, leaveOpen, null, null)
    {
    }

    private WavWriter(Stream stream, int sampleRate, int bits, long? frames, ulong ditherSeed, bool leaveOpen, string? path, string? temporary)
    {
        ArgumentNullException.ThrowIfNull(stream);
        ArgumentOutOfRangeException.ThrowIfLessThan(sampleRate, 1);
        if (bits is not (16 or 24))
            throw new ArgumentOutOfRangeException(nameof(bits), bits, "WAV is written with 16 or 24 bits.");
        if (!stream.CanSeek && frames is null)
            throw new ArgumentException("A stream that cannot seek needs the number of frames beforehand.", nameof(frames));
        _stream = stream;
        _sampleRate = sampleRate;
        _bits = bits;
        _dither = new SplitMix64(ditherSeed);
        _leaveOpen = leaveOpen;
        _promised = frames;
        _path = path;
        _temporary = temporary;
        _buffer = new byte[FramesAtOnce * FrameBytes];
        WriteHeader(frames ?? 0);
    }

    /// <summary>Samples that lay beyond full scale so far.</summary>
    public long Clipped { get; private set; }

    /// <summary>
    /// Names the frame that is written next. Players that know cue points (chunks "cue " and "adtl" of the RIFF
    /// specification, Microsoft and IBM 1991) show them as marks.
    /// </summary>
    /// <exception cref="InvalidOperationException">The stream cannot seek, so its length is already promised.</exception>
    public void AddCue(string name)
    {
        ArgumentException.ThrowIfNullOrEmpty(name);
        if (!_stream.CanSeek)
            throw new InvalidOperationException("Cue points need a stream that can seek.");
        _cues.Add((_frames, name));
    }

    /// <summary>The frames named so far.</summary>
    public IReadOnlyList<(long Frame, string Name)> Cues => _cues;

    private int FrameBytes => Channels * _bits / 8;

    /// <summary>
    /// A file that appears under its name only when <see cref="Complete"/> was called; until then, and when
    /// something goes wrong, whatever had that name stays untouched.
    /// </summary>
    public static WavWriter ToFile(string path, int sampleRate, int bits = 24, ulong ditherSeed = DefaultDitherSeed)
    {
        ArgumentException.ThrowIfNullOrEmpty(path);
        string full = Path.GetFullPath(path);
        string temporary = Path.Combine(Path.GetDirectoryName(full)!, $".{Path.GetFileName(full)}.{Guid.NewGuid():N}.part");
        try
        {
            var stream = new FileStream(temporary, FileMode.CreateNew, FileAccess.ReadWrite, FileShare.None, 1 << 16);
            return new WavWriter(stream, sampleRate, bits, null, ditherSeed, false, full, temporary);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new Units.InputException($"{path} cannot be written: {e.Message}", e);
        }
    }

    /// <summary>Appends frames.</summary>
    /// <exception cref="ArgumentException">The channels differ in length.</exception>
    public void Write(ReadOnlySpan<float> left, ReadOnlySpan<float> right)
    {
        if (left.Length != right.Length)
            throw new ArgumentException($"The left channel has {left.Length} samples, the right one {right.Length}.", nameof(right));
        ObjectDisposedException.ThrowIf(_complete, this);
        for (int start = 0; start < left.Length; start += FramesAtOnce)
        {
            int count = Math.Min(FramesAtOnce, left.Length - start);
            for (int i = 0; i < count; i++)
            {
                Span<byte> frame = _buffer.AsSpan(i * FrameBytes, FrameBytes);
                Put(left[start + i], frame);
                Put(right[start + i], frame[(FrameBytes / 2)..]);
            }

            _stream.Write(_buffer, 0, count * FrameBytes);
            _frames += count;
        }
    }

    /// <summary>Fills in the lengths and, for a file, gives it its name.</summary>
    /// <exception cref="InvalidOperationException">The stream cannot seek and another length was promised.</exception>
    public void Complete()
    {
        if (_complete)
            return;
        _complete = true;
        if (_stream.CanSeek)
        {
            byte[] cues = WavCues.Chunks(_cues);
            _stream.Write(cues);
            _stream.Seek(-(HeaderBytes + (_frames * FrameBytes) + cues.Length), SeekOrigin.Current);
            WriteHeader(_frames, cues.Length);
            _stream.Seek((_frames * FrameBytes) + cues.Length, SeekOrigin.Current);
        }

        else if (_frames != _promised)
        {
            throw new InvalidOperationException($"The header promised {_promised} frames, {_frames} were written.");
        }

        _stream.Flush();
        if (_temporary is null)
            return;
        _stream.Dispose();
        File.Move(_temporary, _path!, overwrite: true);
        _named = true;
    }

    /// <summary>Closes; an incomplete file is removed.</summary>
    public void Dispose()
    {
        if (_leaveOpen)
            return;
        _stream.Dispose();
        if (_temporary is not null && !_named)
            File.Delete(_temporary);
    }

    /// <summary>RIFF, a chunk kept free for RF64's sizes, format, data.</summary>
    private void WriteHeader(long frames, int after = 0)
    {
        Span<byte> h = stackalloc byte[HeaderBytes];
        h.Clear();
        long data = frames * FrameBytes;
        long riff = data + HeaderBytes - 8 + after;
        bool large = riff > uint.MaxValue;
        (large ? "RF64"u8 : "RIFF"u8).CopyTo(h);
        BinaryPrimitives.WriteUInt32LittleEndian(h[4..], large ? uint.MaxValue : (uint)riff);
        "WAVE"u8.CopyTo(h[8..]);
        (large ? "ds64"u8 : "JUNK"u8).CopyTo(h[12..]);
        BinaryPrimitives.WriteUInt32LittleEndian(h[16..], 28);
        if (large)
        {
            BinaryPrimitives.WriteInt64LittleEndian(h[20..], riff);
            BinaryPrimitives.WriteInt64LittleEndian(h[28..], data);
            BinaryPrimitives.WriteInt64LittleEndian(h[36..], frames);
        }

        "fmt "u8.CopyTo(h[48..]);
        Span<byte> f = h[52..];
        BinaryPrimitives.WriteUInt32LittleEndian(f, 16);
        BinaryPrimitives.WriteUInt16LittleEndian(f[4..], 1);
        BinaryPrimitives.WriteUInt16LittleEndian(f[6..], Channels);
        BinaryPrimitives.WriteInt32LittleEndian(f[8..], _sampleRate);
        BinaryPrimitives.WriteInt32LittleEndian(f[12..], _sampleRate * FrameBytes);
        BinaryPrimitives.WriteUInt16LittleEndian(f[16..], (ushort)FrameBytes);
        BinaryPrimitives.WriteUInt16LittleEndian(f[18..], (ushort)_bits);
        "data"u8.CopyTo(h[72..]);
        BinaryPrimitives.WriteUInt32LittleEndian(h[76..], large ? uint.MaxValue : (uint)data);
        _stream.Write(h);
    }

    private void Put(float sample, Span<byte> to)
    {
        int most = _bits == 16 ? short.MaxValue : (1 << 23) - 1;
        double scaled = (double)sample * (most + 1.0);
        // A NaN is a fault of the caller that must not end as a click in a file.
        if (double.IsNaN(scaled))
            throw new ArgumentException($"Frame {_frames} or soon after it is not a number.", nameof(sample));
        if (scaled > most || scaled < -most - 1.0)
            Clipped++;
        if (_bits == 16)
            scaled += _dither.Uniform() - _dither.Uniform();
        int value = (int)Math.Clamp(Math.Round(scaled), -most - 1.0, most);
        to[0] = (byte)value;
        to[1] = (byte)(value >> 8);
        if (_bits == 24)
            to[2] = (byte)(value >> 16);
    }
}
