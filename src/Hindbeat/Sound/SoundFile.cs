using Hindbeat.Units;

namespace Hindbeat.Sound;

/// <summary>Opens a recording of any kind for reading from its start.</summary>
public static class SoundFile
{
    private const string SystemFfmpeg = "ffmpeg";

    /// <summary>
    /// A reader that stands at the recording's first sample. WAV, AIFF, MP3, Ogg Vorbis and Opus are read
    /// here; FLAC, M4A, video and the rest by the system's ffmpeg. The kind is told from the content.
    /// </summary>
    /// <remarks>Reading throws <see cref="InputException"/> too, when damage or a NaN turns up on the way.</remarks>
    /// <exception cref="InputException">No such file, nothing in it, not sound, damaged, or ffmpeg is needed and absent.</exception>
    public static ISoundReader Open(string path) => OpenDecoded(path, SystemFfmpeg);

    internal static DecodedSound OpenDecoded(string path, string ffmpeg = SystemFfmpeg)
    {
        ArgumentException.ThrowIfNullOrEmpty(path);
        string name = Path.GetFileName(path);
        FileStream stream = OpenFile(path, name);
        try
        {
            return new CheckedSound(Decoder(stream, path, name, ffmpeg), name);
        }
        catch
        {
            stream.Dispose();
            throw;
        }
    }

    internal static FileStream OpenFile(string path, string name)
    {
        if (Directory.Exists(path))
            throw new InputException($"{path} is a folder; give the file of one recording.");
        try
        {
            return new FileStream(path, FileMode.Open, FileAccess.Read, FileShare.Read | FileShare.Delete, 1 << 16);
        }
        catch (Exception e) when (e is FileNotFoundException or DirectoryNotFoundException)
        {
            throw new InputException($"There is no file {path}.", e);
        }
        catch (Exception e) when (e is UnauthorizedAccessException or IOException)
        {
            throw new InputException($"{name} cannot be opened: {e.Message}", e);
        }
    }

    private static DecodedSound Decoder(FileStream stream, string path, string name, string ffmpeg)
    {
        if (stream.Length == 0)
            throw new InputException($"{name} is empty (0 bytes); the copy or download failed.");
        SoundKind kind = Kind(stream);
        switch (kind.Decoder)
        {
            case SoundDecoder.Wav:
                return WavHeader.Read(stream, name) is ({ } wav, { } doubts) ? new PlainSampleReader(stream, wav, doubts) : Foreign("compressed WAV");
            case SoundDecoder.Aiff:
                return AiffHeader.Read(stream, name) is ({ } aiff, { } doubted) ? new PlainSampleReader(stream, aiff, doubted) : Foreign("compressed AIFF");
            case SoundDecoder.Mp3:
                return new Mp3Reader(stream, name);
            case SoundDecoder.Vorbis:
                return new VorbisSoundReader(stream, name);
            case SoundDecoder.Opus:
                return new OpusSoundReader(stream, name);
            case SoundDecoder.Midi:
                throw new InputException($"{name} is a MIDI file, not sound{(Path.GetExtension(name).StartsWith(".mid", StringComparison.OrdinalIgnoreCase) ? "" : " (rename it to .mid)")}.");
            case SoundDecoder.Text:
                throw new InputException($"{name} holds text, not sound; a web page or a list was probably saved under this name.");
            default:
                return Foreign(kind.Words);
        }

        FfmpegReader Foreign(string words)
        {
            stream.Dispose();
            return FfmpegReader.Open(path, words, ffmpeg);
        }
    }

    private static SoundKind Kind(FileStream stream)
    {
        byte[] head = new byte[SoundKind.HeadBytes];
        int got = stream.ReadAtLeast(head, head.Length, false);
        int behind = Mp3Tag.AfterId3(head.AsSpan(0, got));
        byte[] behindId3 = head[..got];
        if (behind > 0)
        {
            stream.Position = Math.Min(behind, stream.Length);
            behindId3 = new byte[SoundKind.HeadBytes];
            behindId3 = behindId3[..stream.ReadAtLeast(behindId3, behindId3.Length, false)];
        }

        stream.Position = 0;
        return SoundKind.Of(head.AsSpan(0, got), behindId3);
    }
}
