using System.Buffers.Binary;
using System.Text;

namespace Hindbeat.Sound;

/// <summary>
/// What an MP3's first frame says about the silence around the recording. MPEG audio has no such field;
/// encoders put it into a first, silent frame (the "Info"/"Xing" frame with the LAME extension).
/// </summary>
/// <param name="Frames">MPEG frames of sound, this one not counted.</param>
/// <param name="SamplesPerFrame">1152, or 576 for the low rates of MPEG-2.</param>
/// <param name="EncoderDelay">Samples that the encoder put in front.</param>
/// <param name="Padding">Samples that it added behind to fill the last frame, decoder delay included.</param>
/// <remarks>Layout: G. Bouvigne, "MP3 Info Tag revision 1 specification" (LAME project, 2002 on).</remarks>
internal readonly record struct Mp3Tag(uint Frames, int SamplesPerFrame, int EncoderDelay, int Padding)
{
    /// <summary>
    /// How late a decoder's hybrid synthesis gives each sample: 528 of the filter bank and overlap, and
    /// one more of the polyphase window (LAME's technical FAQ).
    /// </summary>
    public const int DecoderDelay = 529;

    public int SamplesToSkip => EncoderDelay + DecoderDelay;

    /// <summary>Samples per channel of the recording itself.</summary>
    public long Samples => Math.Max(0, ((long)Frames * SamplesPerFrame) - EncoderDelay - Padding);

    /// <summary>Where MPEG frames begin: behind an ID3v2 tag, if there is one.</summary>
    public static int AfterId3(ReadOnlySpan<byte> head)
    {
        if (head.Length < 10 || head[0] != 'I' || head[1] != 'D' || head[2] != '3')
            return 0;
        int size = ((head[6] & 0x7F) << 21) | ((head[7] & 0x7F) << 14) | ((head[8] & 0x7F) << 7) | (head[9] & 0x7F);
        return 10 + size + ((head[5] & 0x10) != 0 ? 10 : 0);
    }

    /// <summary>A frame header of MPEG layer I to III with no reserved value in it.</summary>
    public static bool IsFrameHeader(ReadOnlySpan<byte> b) =>
        b.Length >= 4 && b[0] == 0xFF && (b[1] & 0xE0) == 0xE0
        && (b[1] & 0x18) != 0x08 && (b[1] & 0x06) != 0 && (b[2] & 0xF0) != 0xF0 && (b[2] & 0x0C) != 0x0C;

    /// <summary>Reads the tag out of the first frame; null when there is none or it says nothing of the delay.</summary>
    /// <param name="frame">From the frame's header on, 256 bytes or more.</param>
    public static Mp3Tag? Parse(ReadOnlySpan<byte> frame)
    {
        if (frame.Length < 200 || !IsFrameHeader(frame))
            return null;
        bool mpeg1 = (frame[1] & 0x18) == 0x18;
        bool mono = (frame[3] & 0xC0) == 0xC0;
        bool checksum = (frame[1] & 1) == 0;
        int at = 4 + (checksum ? 2 : 0) + (mpeg1 ? (mono ? 17 : 32) : (mono ? 9 : 17));
        string id = Encoding.ASCII.GetString(frame.Slice(at, 4));
        if (id is not ("Xing" or "Info"))
            return null;
        uint flags = BinaryPrimitives.ReadUInt32BigEndian(frame[(at + 4)..]);
        if ((flags & 1) == 0)
            return null;
        uint frames = BinaryPrimitives.ReadUInt32BigEndian(frame[(at + 8)..]);
        int encoder = at + 12 + ((flags & 2) != 0 ? 4 : 0) + ((flags & 4) != 0 ? 100 : 0) + ((flags & 8) != 0 ? 4 : 0);
        if (encoder + 24 > frame.Length || !char.IsAsciiLetter((char)frame[encoder]))
            return null;
        ReadOnlySpan<byte> gap = frame.Slice(encoder + 21, 3);
        int delay = (gap[0] << 4) | (gap[1] >> 4);
        int padding = ((gap[1] & 0x0F) << 8) | gap[2];
        return delay == 0 && padding == 0 ? null : new Mp3Tag(frames, mpeg1 ? 1152 : 576, delay, padding);
    }
}
