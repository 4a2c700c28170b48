using System.ComponentModel;
using System.Diagnostics;
using Hindbeat.Units;

namespace Hindbeat.Sound;

/// <summary>
/// Sound that the system's ffmpeg decodes: its first sound track, at its own rate and channel count,
/// comes through a pipe as float WAV. See docs/decisions/sound-decoders.md for why the program is
/// started directly.
/// </summary>
internal sealed class FfmpegReader : DecodedSound
{
    private const int MostComplaints = 20;

    private readonly Process _process;
    private readonly Task<string[]> _complaints;
    private readonly PlainSampleReader _samples;
    private readonly string _kind;
    private bool _ended;

    private FfmpegReader(Process process, Task<string[]> complaints, PlainSampleReader samples, string kind)
    {
        _process = process;
        _complaints = complaints;
        _samples = samples;
        _kind = kind;
    }

    public override int SampleRate => _samples.SampleRate;
    public override int Channels => _samples.Channels;
    public override string Format => _kind;
    public override double Progress => 0;

    /// <param name="kind">The kind of file in words: "FLAC".</param>
    /// <param name="command">The ffmpeg to start.</param>
    /// <exception cref="InputException">ffmpeg is absent, or finds no sound in the file.</exception>
    public static FfmpegReader Open(string path, string kind, string command)
    {
        string name = Path.GetFileName(path);
        Process process = Start(path, kind, command, name);
        Task<string[]> complaints = Complaints(process.StandardError);
        try
        {
            (SampleLayout? layout, _) = WavHeader.Read(process.StandardOutput.BaseStream, name);
            var reader = new FfmpegReader(process, complaints, new PlainSampleReader(process.StandardOutput.BaseStream, layout!, []), kind);
            if (kind == RawAac)
                reader.Raise(new EncoderDelayUnknown(RawAac));
            return reader;
        }
        catch (InputException e)
        {
            End(process);
            string[] said = complaints.Result;
            if (said.Any(line => line.Contains("matches no streams", StringComparison.Ordinal)))
                throw new InputException($"{name} ({kind}) holds no sound track.", e);
            string quoted = said.Length > 0 ? $" (ffmpeg says: {said[^1].Replace($"file:{Path.GetFullPath(path)}: ", "", StringComparison.Ordinal)})" : "";
            throw new InputException($"{name} ({kind}) cannot be decoded; it is damaged, cut short or not sound{quoted}.", e);
        }
    }

    /// <summary>The one kind read through ffmpeg that cannot carry its encoder's delay.</summary>
    public const string RawAac = "raw AAC";

    public override int Read(Span<float> interleaved)
    {
        int got = _samples.Read(interleaved);
        if (got == 0 && !_ended)
        {
            _ended = true;
            _process.WaitForExit();
            if (_process.ExitCode != 0 || _complaints.Result.Length > 0)
                Raise(new SoundDamaged($"{_kind} file"));
        }

        return got;
    }

    protected override void Dispose(bool disposing)
    {
        if (!disposing)
            return;
        End(_process);
        _samples.Dispose();
        _process.Dispose();
    }

    private static Process Start(string path, string kind, string command, string name)
    {
        var start = new ProcessStartInfo(command)
        {
            RedirectStandardOutput = true, RedirectStandardError = true, UseShellExecute = false, CreateNoWindow = true,
        };
        // "file:" and the whitelist: a name never becomes a protocol, and a playlist posing as sound fetches nothing.
        string[] arguments =
        [
            "-nostdin", "-hide_banner", "-v", "error", "-protocol_whitelist", "file,pipe", "-i", $"file:{Path.GetFullPath(path)}",
            "-map", "0:a:0", "-vn", "-sn", "-dn", "-c:a", "pcm_f32le", "-f", "wav", "pipe:1",
        ];
        foreach (string argument in arguments)
            start.ArgumentList.Add(argument);
        try
        {
            return Process.Start(start) ?? throw new InputException($"{command} could not be started to read {name}.");
        }
        catch (Win32Exception e)
        {
            throw new InputException($"{name} ({kind}) needs ffmpeg to be read, which was not found; install ffmpeg, or convert the file to WAV.", e);
        }
    }

    /// <summary>Empties the pipe as ffmpeg writes (a full one would stop it) and keeps the first few lines.</summary>
    private static async Task<string[]> Complaints(StreamReader reader)
    {
        var lines = new List<string>();
        while (await reader.ReadLineAsync().ConfigureAwait(false) is { } line)
        {
            if (!string.IsNullOrWhiteSpace(line) && lines.Count < MostComplaints)
                lines.Add(line.Trim().TrimEnd('.'));
        }

        return [.. lines];
    }

    private static void End(Process process)
    {
        try
        {
            if (!process.HasExited)
                process.Kill();
            process.WaitForExit();
        }
        catch (InvalidOperationException)
        {
            // It ended between the question and the call.
        }
    }
}
