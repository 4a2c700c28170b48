using System.Buffers.Binary;
using System.Text;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Sound;

/// <summary>
/// Reads the chunks of an AIFF or AIFF-C file up to its first sample. Sources: Apple, "Audio Interchange
/// File Format AIFF", version 1.3 (1989); Apple, "AIFF-C" draft (1991).
/// </summary>
internal static class AiffHeader
{
    /// <summary>As <see cref="WavHeader.Read"/>: null layout = compressed, left to ffmpeg.</summary>
    /// <exception cref="InputException">No usable header, or no samples behind it.</exception>
    public static (SampleLayout? Layout, IReadOnlyList<Doubt> Doubts) Read(Stream stream, string name)
    {
        Span<byte> chunk = stackalloc byte[12];
        if (stream.ReadAtLeast(chunk, 12, false) < 12)
            throw new InputException($"{name} ends inside its AIFF header; it was probably not copied or downloaded to the end.");
        bool compressedKind = Encoding.ASCII.GetString(chunk[8..]) == "AIFC";
        Common? common = null;
        (long Start, long Bytes)? sound = null;
        while (stream.ReadAtLeast(chunk[..8], 8, false) == 8)
        {
            string id = Encoding.ASCII.GetString(chunk[..4]);
            long size = BinaryPrimitives.ReadUInt32BigEndian(chunk[4..]);
            long next = stream.Position + size + (size & 1);
            if (id == "COMM")
            {
                byte[] body = new byte[Math.Min(size, 64)];
                if (stream.ReadAtLeast(body, body.Length, false) < body.Length)
                    break;
                common = Common.Parse(body, compressedKind, name);
            }
            else if (id == "SSND")
            {
                if (stream.ReadAtLeast(chunk[..8], 8, false) < 8)
                    break;
                // The offset pads the first sample to a disk block in files of old hard-disk recorders.
                long offset = BinaryPrimitives.ReadUInt32BigEndian(chunk);
                sound = (stream.Position + offset, size - 8 - offset);
            }

            // The description may follow the samples.
            if (common is not null && sound is not null)
                break;
            if (next > stream.Length)
                break;
            stream.Position = next;
        }

        if (common is not { } found)
            throw new InputException($"{name} does not describe its samples; the file is damaged or cut short.");
        if (found.Sample is not { } sample)
            return (null, []);
        if (sound is not { } place)
            throw new InputException($"{name} holds no samples; the recording or the export was empty.");
        return Layout(stream, name, found, sample, place);
    }

    private static (SampleLayout?, IReadOnlyList<Doubt>) Layout(
        Stream stream, string name, Common common, SampleFormat sample, (long Start, long Bytes) place)
    {
        int frame = common.Channels * sample.Bytes;
        long promised = Math.Min(place.Bytes, common.Frames * frame);
        long bytes = Math.Min(promised, stream.Length - place.Start);
        bytes -= bytes % frame;
        if (bytes <= 0)
            throw new InputException(promised > 0
                ? $"{name} ends before its first sample; it was probably not copied or downloaded to the end."
                : $"{name} holds no samples; the recording or the export was empty.");
        stream.Position = place.Start;
        Doubt[] doubts = bytes < promised - (promised % frame)
            ? [new SoundCutShort((double)bytes / frame / common.Rate, (double)promised / frame / common.Rate)]
            : [];
        return (new SampleLayout("AIFF", common.Rate, common.Channels, sample, place.Start, bytes), doubts);
    }

    private readonly record struct Common(int Rate, int Channels, long Frames, SampleFormat? Sample)
    {
        public static Common Parse(ReadOnlySpan<byte> b, bool compressedKind, string name)
        {
            if (b.Length < 18)
                throw new InputException($"{name} describes its samples in {b.Length} bytes instead of 18; the file is damaged.");
            int channels = BinaryPrimitives.ReadInt16BigEndian(b);
            long frames = BinaryPrimitives.ReadUInt32BigEndian(b[2..]);
            int bytes = (BinaryPrimitives.ReadInt16BigEndian(b[6..]) + 7) / 8;
            string scheme = compressedKind && b.Length >= 22 ? Encoding.ASCII.GetString(b.Slice(18, 4)) : "NONE";
            SampleFormat? sample = scheme switch
            {
                "NONE" or "twos" => new SampleFormat(SampleEncoding.SignedInteger, bytes, true),
                "sowt" => new SampleFormat(SampleEncoding.SignedInteger, bytes, false),
                "in24" => new SampleFormat(SampleEncoding.SignedInteger, 3, true),
                "in32" => new SampleFormat(SampleEncoding.SignedInteger, 4, true),
                "raw " => new SampleFormat(SampleEncoding.UnsignedInteger, 1, true),
                "fl32" or "FL32" => new SampleFormat(SampleEncoding.Float, 4, true),
                "fl64" or "FL64" => new SampleFormat(SampleEncoding.Float, 8, true),
                _ => null,
            };
            int rate = SoundLimits.CheckRate(Extended80(b.Slice(8, 10)), name);
            SoundLimits.CheckChannels(channels, name);
            if (sample is { IsKnown: false })
                throw new InputException($"{name} claims samples of {bytes} bytes; its header is damaged.");
            return new Common(rate, channels, frames, sample);
        }

        /// <summary>The 80-bit extended float that AIFF writes rates in: 15 bits of exponent, 64 of mantissa.</summary>
        private static double Extended80(ReadOnlySpan<byte> b)
        {
            int exponent = BinaryPrimitives.ReadUInt16BigEndian(b) & 0x7FFF;
            ulong mantissa = BinaryPrimitives.ReadUInt64BigEndian(b[2..]);
            return mantissa * Math.Pow(2, exponent - 16383 - 63);
        }
    }
}
