using System.Diagnostics;
using System.Runtime.InteropServices;

namespace Hindbeat.KitMaker;

/// <summary>Reads a mono 16-bit FLAC file through the system's ffmpeg, bit for bit.</summary>
internal static class FlacFile
{
    public const int SampleRate = 44100;

    public static short[] Read(string path)
    {
        using Process ffmpeg = Process.Start(new ProcessStartInfo("ffmpeg", ["-v", "error", "-i", path, "-f", "s16le", "-ac", "1", "-ar", "44100", "-"]) { RedirectStandardOutput = true })
            ?? throw new InvalidOperationException("ffmpeg did not start.");
        using var bytes = new MemoryStream();
        ffmpeg.StandardOutput.BaseStream.CopyTo(bytes);
        ffmpeg.WaitForExit();
        if (ffmpeg.ExitCode != 0 || bytes.Length == 0)
            throw new InvalidDataException($"ffmpeg could not read {path}.");
        return MemoryMarshal.Cast<byte, short>(bytes.ToArray()).ToArray();
    }
}
