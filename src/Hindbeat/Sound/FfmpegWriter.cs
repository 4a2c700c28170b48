using System.ComponentModel;
using System.Diagnostics;
using Hindbeat.Units;

namespace Hindbeat.Sound;

/// <summary>Turns a finished WAV file into FLAC or MP3 with the system's ffmpeg.</summary>
public static class FfmpegWriter
{
    private static readonly Dictionary<string, string[]> Encoders = new(StringComparer.OrdinalIgnoreCase)
    {
        [".flac"] = ["-c:a", "flac", "-f", "flac"],
        // Variable rate near 190 kbit/s.
        [".mp3"] = ["-c:a", "libmp3lame", "-q:a", "2", "-f", "mp3"],
    };

    /// <summary>Can a file of this name be written?</summary>
    public static bool Knows(string path) => Encoders.ContainsKey(Path.GetExtension(path));

    /// <summary>Writes <paramref name="path"/> from a WAV file, wholly or not at all.</summary>
    /// <param name="command">The ffmpeg to start.</param>
    /// <param name="cues">
    /// Named moments. ffmpeg makes chapters of a WAV's cue points in MP3; in FLAC it drops them, so they are given as the
    /// CHAPTERxxx comments that players read there (Vorbis comment chapter extension, Xiph.Org wiki).
    /// </param>
    /// <exception cref="InputException">Another ending than .flac or .mp3, ffmpeg is absent, or it failed.</exception>
    public static void Encode(string wav, string path, string command = "ffmpeg", IReadOnlyList<(double Seconds, string Name)>? cues = null)
    {
        ArgumentException.ThrowIfNullOrEmpty(wav);
        ArgumentException.ThrowIfNullOrEmpty(path);
        string name = Path.GetFileName(path);
        if (!Encoders.TryGetValue(Path.GetExtension(path), out string[]? encoder))
            throw new InputException($"{name} is neither WAV, FLAC nor MP3; end the name in .wav, .flac or .mp3.");
        string full = Path.GetFullPath(path);
        string temporary = Path.Combine(Path.GetDirectoryName(full)!, $".{name}.{Guid.NewGuid():N}.part");
        try
        {
            Run(command, ["-nostdin", "-hide_banner", "-v", "error", "-y", "-protocol_whitelist", "file", "-i", $"file:{Path.GetFullPath(wav)}", .. encoder, .. Chapters(path, cues ?? []), $"file:{temporary}"], name);
            File.Move(temporary, full, overwrite: true);
        }
        catch (Exception reason) when (reason is IOException or UnauthorizedAccessException)
        {
            throw new InputException($"{path} cannot be written: {reason.Message}", reason);
        }
        finally
        {
            File.Delete(temporary);
        }
    }

    private static IEnumerable<string> Chapters(string path, IReadOnlyList<(double Seconds, string Name)> cues)
    {
        if (!Path.GetExtension(path).Equals(".flac", StringComparison.OrdinalIgnoreCase))
            yield break;
        for (int i = 0; i < cues.Count; i++)
        {
            var time = TimeSpan.FromSeconds(cues[i].Seconds);
            yield return "-metadata";
            yield return FormattableString.Invariant($@"CHAPTER{i + 1:000}={(int)time.TotalHours:00}:{time:mm\:ss\.fff}");
            yield return "-metadata";
            yield return FormattableString.Invariant($"CHAPTER{i + 1:000}NAME={cues[i].Name}");
        }
    }

    private static void Run(string command, string[] arguments, string name)
    {
        var start = new ProcessStartInfo(command) { RedirectStandardError = true, UseShellExecute = false, CreateNoWindow = true };
        foreach (string argument in arguments)
            start.ArgumentList.Add(argument);
        try
        {
            using Process process = Process.Start(start) ?? throw new InputException($"{command} could not be started to write {name}.");
            string complaint = process.StandardError.ReadToEnd();
            process.WaitForExit();
            if (process.ExitCode != 0)
                throw new InputException($"{name} could not be encoded (ffmpeg says: {complaint.Trim().Split('\n')[^1]}).");
        }
        catch (Win32Exception reason)
        {
            throw new InputException($"{name} needs ffmpeg to be written, which was not found; install ffmpeg, or write a .wav file.", reason);
        }
    }
}
