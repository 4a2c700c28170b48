using System.Buffers.Binary;
using System.Text;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Sound;

/// <summary>
/// Reads the chunks of a WAV file up to its first sample, from a file or from a pipe. Sources: RIFF/WAVE
/// as described by Microsoft's "Multiple Channel Audio Data and WAVE Files" (extensible format); RF64/BW64
/// sizes beyond 4 GB by EBU Tech 3306 and ITU-R BS.2088.
/// </summary>
internal static class WavHeader
{
    private const int TagPcm = 1;
    private const int TagFloat = 3;
    private const int TagExtensible = 0xFFFE;
    private const uint SizeUnknown = 0xFFFFFFFF;

    /// <summary>
    /// Where the samples lie, with doubts about a file cut short; null when the samples are compressed by
    /// a scheme that is left to ffmpeg. The stream then stands at the first sample.
    /// </summary>
    /// <exception cref="InputException">No usable header, or no samples behind it.</exception>
    public static (SampleLayout? Layout, IReadOnlyList<Doubt> Doubts) Read(Stream stream, string name)
    {
        Span<byte> head = stackalloc byte[12];
        if (stream.ReadAtLeast(head, 12, false) < 12)
            throw new InputException($"{name} ends inside its WAV header; it was probably not copied or downloaded to the end.");
        string form = Encoding.ASCII.GetString(head[..4]);
        if (form is not ("RIFF" or "RF64" or "BW64") || Encoding.ASCII.GetString(head[8..]) != "WAVE")
            throw new InputException($"{name} is not a WAV file inside.");
        long riffSize = BinaryPrimitives.ReadUInt32LittleEndian(head[4..]);
        long position = 12;
        long? longDataSize = null;
        Fmt? format = null;
        Span<byte> chunk = stackalloc byte[8];
        while (stream.ReadAtLeast(chunk, 8, false) == 8)
        {
            position += 8;
            string id = Encoding.ASCII.GetString(chunk[..4]);
            uint size = BinaryPrimitives.ReadUInt32LittleEndian(chunk[4..]);
            if (id == "data")
            {
                if (format is not { } found)
                    throw new InputException($"{name} has its samples before their description; the file is damaged.");
                long promised = size == SizeUnknown && longDataSize is { } longSize ? longSize : size;
                return Layout(stream, name, found, position, promised, riffSize);
            }

            byte[] kept = new byte[id is "fmt " or "ds64" ? Math.Min(size, 64) : 0];
            if (stream.ReadAtLeast(kept, kept.Length, false) < kept.Length || !PassOver(stream, size - kept.Length + (size & 1)))
                break;
            position += size + (size & 1);
            if (id == "fmt ")
                format = Fmt.Parse(kept, name);
            else if (id == "ds64" && kept.Length >= 16)
                longDataSize = BinaryPrimitives.ReadInt64LittleEndian(kept.AsSpan(8));
        }

        throw new InputException($"{name} ends before its first sample; it was probably not copied or downloaded to the end.");
    }

    private static (SampleLayout?, IReadOnlyList<Doubt>) Layout(
        Stream stream, string name, Fmt format, long start, long promised, long riffSize)
    {
        if (format.Sample is not { } sample)
            return (null, []);
        var layout = new SampleLayout("WAV", format.Rate, format.Channels, sample, start, null);
        if (!stream.CanSeek)
            return (layout, []);
        long there = stream.Length - start;
        // A recorder that lost power leaves the sizes at 0, and one that streams leaves them at "unknown".
        bool unfinished = promised is SizeUnknown || (promised == 0 && riffSize + 8 <= start && there > 0);
        long bytes = unfinished ? there : Math.Min(promised, there);
        bytes -= bytes % layout.FrameBytes;
        if (bytes == 0)
            throw new InputException(promised > 0 && !unfinished
                ? $"{name} ends before its first sample; it was probably not copied or downloaded to the end."
                : $"{name} holds no samples; the recording or the export was empty.");
        double present = (double)bytes / layout.FrameBytes / format.Rate;
        Doubt[] doubts = unfinished && promised == 0 ? [new SoundCutShort(present, null)]
            : !unfinished && promised > there ? [new SoundCutShort(present, (double)promised / layout.FrameBytes / format.Rate)]
            : [];
        return (layout with { ByteCount = bytes }, doubts);
    }

    private static bool PassOver(Stream stream, long bytes)
    {
        if (stream.CanSeek)
        {
            if (stream.Position + bytes > stream.Length)
                return false;
            stream.Seek(bytes, SeekOrigin.Current);
            return true;
        }

        byte[] dropped = new byte[4096];
        while (bytes > 0)
        {
            int got = stream.Read(dropped.AsSpan(0, (int)Math.Min(dropped.Length, bytes)));
            if (got == 0)
                return false;
            bytes -= got;
        }

        return true;
    }

    /// <summary>The description of the samples; Sample is null for compressed ones.</summary>
    private readonly record struct Fmt(int Rate, int Channels, SampleFormat? Sample)
    {
        public static Fmt Parse(ReadOnlySpan<byte> b, string name)
        {
            if (b.Length < 16)
                throw new InputException($"{name} describes its samples in {b.Length} bytes instead of 16 or more; the file is damaged.");
            int tag = BinaryPrimitives.ReadUInt16LittleEndian(b);
            int channels = BinaryPrimitives.ReadUInt16LittleEndian(b[2..]);
            uint rate = BinaryPrimitives.ReadUInt32LittleEndian(b[4..]);
            int frameBytes = BinaryPrimitives.ReadUInt16LittleEndian(b[12..]);
            // The sub-format's first two bytes are the tag that a plain header would carry.
            if (tag == TagExtensible && b.Length >= 26)
                tag = BinaryPrimitives.ReadUInt16LittleEndian(b[24..]);
            if (tag is not (TagPcm or TagFloat))
                return new Fmt((int)rate, channels, null);
            int fileRate = SoundLimits.CheckRate(rate, name);
            SoundLimits.CheckChannels(channels, name);
            // Samples of 12 or 20 bits lie left-aligned in whole bytes, so the container's width is what counts.
            int bytes = frameBytes / channels;
            var sample = new SampleFormat(
                tag == TagFloat ? SampleEncoding.Float : bytes == 1 ? SampleEncoding.UnsignedInteger : SampleEncoding.SignedInteger, bytes, false);
            if (frameBytes % channels != 0 || !sample.IsKnown)
                throw new InputException($"{name} claims {frameBytes} bytes for {channels} channels of {(tag == TagFloat ? "float" : "integer")} samples; its header is damaged.");
            return new Fmt(fileRate, channels, sample);
        }
    }
}
