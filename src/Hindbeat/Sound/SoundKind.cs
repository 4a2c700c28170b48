using System.Text.Unicode;

namespace Hindbeat.Sound;

/// <summary>How a file is to be read.</summary>
internal enum SoundDecoder
{
    Wav,
    Aiff,
    Mp3,
    Vorbis,
    Opus,
    Ffmpeg,
    Midi,
    Text,
    Unknown,
}

/// <summary>What a file is, told from its content: names lie (an .mp3 that is an M4A, a .wav that is text).</summary>
/// <param name="Words">"FLAC", "MP4 or M4A".</param>
internal readonly record struct SoundKind(SoundDecoder Decoder, string Words)
{
    /// <summary>An ID3v2 tag with pictures may push the first MP3 frame this far back; junk before it never so far.</summary>
    public const int HeadBytes = 4096;

    /// <summary>Byte patterns at the start (or at an offset) that mark kinds which are left to ffmpeg.</summary>
    private static readonly (int At, byte[] Mark, string Words)[] ForFfmpeg =
    [
        (0, "fLaC"u8.ToArray(), "FLAC"),
        (4, "ftyp"u8.ToArray(), "MP4, M4A or QuickTime"),
        (4, "moov"u8.ToArray(), "QuickTime"),
        (4, "mdat"u8.ToArray(), "QuickTime"),
        (4, "wide"u8.ToArray(), "QuickTime"),
        (0, [0x1A, 0x45, 0xDF, 0xA3], "Matroska or WebM"),
        (8, "AVI "u8.ToArray(), "AVI"),
        (0, [0x30, 0x26, 0xB2, 0x75], "Windows Media"),
        (0, "caff"u8.ToArray(), "CAF"),
        (0, ".snd"u8.ToArray(), "AU"),
        (0, "wvpk"u8.ToArray(), "WavPack"),
        (0, "MAC "u8.ToArray(), "Monkey's Audio"),
        (0, "FLV"u8.ToArray(), "Flash video"),
        (0, [0x00, 0x00, 0x01, 0xBA], "MPEG video"),
        (0, "riff\x2E\x91\xCF\x11"u8.ToArray(), "Wave64"),
        (0, "#!AMR"u8.ToArray(), "AMR"),
        (0, [0x0B, 0x77], "AC-3"),
    ];

    /// <param name="head">The first bytes, up to <see cref="HeadBytes"/>.</param>
    /// <param name="behindId3">Bytes behind an ID3v2 tag; the same as <paramref name="head"/> when there is none.</param>
    public static SoundKind Of(ReadOnlySpan<byte> head, ReadOnlySpan<byte> behindId3)
    {
        if (Marked(head, 8, "WAVE"u8) && (Marked(head, 0, "RIFF"u8) || Marked(head, 0, "RF64"u8) || Marked(head, 0, "BW64"u8)))
            return new(SoundDecoder.Wav, "WAV");
        if (Marked(head, 0, "RIFF"u8) && head.Length < 12)
            return new(SoundDecoder.Wav, "WAV");
        if (Marked(head, 0, "FORM"u8) && (Marked(head, 8, "AIFF"u8) || Marked(head, 8, "AIFC"u8)))
            return new(SoundDecoder.Aiff, "AIFF");
        if (Marked(head, 0, "OggS"u8))
            return Ogg(head);
        if (Marked(head, 0, "MThd"u8))
            return new(SoundDecoder.Midi, "MIDI");
        foreach ((int at, byte[] mark, string words) in ForFfmpeg)
        {
            if (Marked(head, at, mark) || Marked(behindId3, at, mark))
                return new(SoundDecoder.Ffmpeg, words);
        }

        // Before the MP3 test: a UTF-16 mark could pass for a frame of MPEG layer I, which nobody records in.
        if (HasByteOrderMark(head))
            return new(SoundDecoder.Text, "text");
        // ADTS shares MP3's sync word but has layer 0, which is reserved in MPEG audio.
        if (behindId3.Length >= 2 && behindId3[0] == 0xFF && (behindId3[1] & 0xF6) == 0xF0)
            return new(SoundDecoder.Ffmpeg, FfmpegReader.RawAac);
        if (Mp3Tag.IsFrameHeader(behindId3) || Marked(head, 0, "ID3"u8))
            return new(SoundDecoder.Mp3, "MP3");
        return LooksLikeText(head) ? new(SoundDecoder.Text, "text") : new(SoundDecoder.Unknown, "unknown kind");
    }

    private static SoundKind Ogg(ReadOnlySpan<byte> head)
    {
        int body = head.Length > 26 ? 27 + head[26] : head.Length;
        if (Marked(head, body, "OpusHead"u8))
            return new(SoundDecoder.Opus, "Opus");
        if (!Marked(head, body + 1, "vorbis"u8))
            return new(SoundDecoder.Ffmpeg, "Ogg");
        // NVorbis 0.10.5 mixes up the channels of a 5.1 file, so more than two are left to ffmpeg.
        return head.Length > body + 11 && head[body + 11] > 2
            ? new(SoundDecoder.Ffmpeg, "surround Ogg Vorbis")
            : new(SoundDecoder.Vorbis, "Ogg Vorbis");
    }

    private static bool Marked(ReadOnlySpan<byte> head, int at, ReadOnlySpan<byte> mark) =>
        at >= 0 && head.Length >= at + mark.Length && head.Slice(at, mark.Length).SequenceEqual(mark);

    private static bool HasByteOrderMark(ReadOnlySpan<byte> head) =>
        Marked(head, 0, [0xEF, 0xBB, 0xBF]) || Marked(head, 0, [0xFF, 0xFE]) || Marked(head, 0, [0xFE, 0xFF]);

    /// <summary>UTF-8 without control characters other than tabs and line ends.</summary>
    private static bool LooksLikeText(ReadOnlySpan<byte> head)
    {
        foreach (byte b in head)
        {
            if (b < 32 && b is not (9 or 10 or 12 or 13))
                return false;
        }

        // The head may end inside a character of up to four bytes.
        for (int cut = 0; cut < 4 && cut < head.Length; cut++)
        {
            if (Utf8.IsValid(head[..^cut]))
                return true;
        }

        return false;
    }
}
