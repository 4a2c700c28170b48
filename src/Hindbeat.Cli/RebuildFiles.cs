using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Cli;

/// <summary>Writes rebuilds, sets and slowed recordings as WAV, FLAC or MP3.</summary>
internal static class RebuildFiles
{
    private const int SampleRate = 44100;

    /// <summary>Sound before the first stroke or click, so that nothing starts on the file's first sample.</summary>
    private static readonly Seconds Lead = Seconds.Of(0.05);

    /// <param name="performance">The passage.</param>
    /// <param name="feel">Its measured feel.</param>
    /// <param name="dials">How much of it the rebuild keeps.</param>
    /// <param name="bits">16 or 24.</param>
    /// <param name="stream">Seekable; left open.</param>
    public static void Write(Performance performance, FeelReport feel, Dials dials, int bits, Stream stream)
    {
        using var wav = new WavWriter(stream, SampleRate, bits);
        Renderer.Stream(RebuildPlan.Make(performance, feel, dials), HouseKit.Load(), SampleRate, wav.Write);
        wav.Complete();
    }

    /// <summary>One version, with its click inside or in a file apart.</summary>
    public static void WriteVersion(FoundStudy study, Dials dials, Kit kit, ClickOptions click, string? clickApart, int bits, string path, CancellationToken cancel)
    {
        IReadOnlyList<PlannedStroke> plan = RebuildPlan.Make(study.Performance, study.Feel, dials);
        Pulse pulse = RebuildTempo.PulseOf(study.Performance, dials);
        IReadOnlyList<PlannedClick> clicks = ClickTrack.Make(pulse, click);
        // The rebuild begins where the passage does, not where the recording does, or with the count-in.
        AudioTime from = RebuildTempo.TimeOf(study.Performance, dials, study.From);
        foreach (AudioTime first in plan.Select(stroke => stroke.Time).Concat(clicks.Select(each => each.Time)))
            from = first - Lead < from ? first - Lead : from;
        var options = new RenderOptions { From = from };
        WriteWav(path, bits, wav => Renderer.Stream(plan, kit, SampleRate, wav.Write, clickApart is null ? options with { Clicks = clicks } : options, cancel));
        if (clickApart is null)
            return;
        if (clicks.Count == 0)
            throw new InputException("--click-apart needs a click: add --click 1 or --count-in 1.");
        WriteWav(clickApart, bits, wav => Renderer.Stream([], kit, SampleRate, wav.Write, options with { Clicks = clicks }, cancel));
    }

    /// <summary>A set in one file, or a file a part beside the name that was given.</summary>
    /// <returns>The files written.</returns>
    public static IReadOnlyList<string> WriteSet(LessonSet set, int bits, string path, bool apart, CancellationToken cancel)
    {
        if (!apart)
        {
            WriteWav(path, bits, wav => set.Write(wav, cancel));
            return [path];
        }

        var written = new List<string>();
        for (int i = 0; i < set.Parts.Count; i++)
        {
            int part = i;
            string name = string.Create(CultureInfo.InvariantCulture, $"{Path.GetFileNameWithoutExtension(path)}-{part + 1}-{set.Parts[part].Name.Replace(' ', '-')}{Path.GetExtension(path)}");
            written.Add(Path.Combine(Path.GetDirectoryName(path) ?? string.Empty, name));
            WriteWav(written[^1], bits, wav => set.Stream(part, wav.Write, cancel));
        }

        return written;
    }

    public static void WriteSound(Action<WavWriter> write, int sampleRate, int bits, string path) => WriteWav(path, bits, write, sampleRate);

    /// <exception cref="InputException">Not a kind of file that is written.</exception>
    public static void CheckEnding(string path)
    {
        if (!string.Equals(Path.GetExtension(path), ".wav", StringComparison.OrdinalIgnoreCase) && !FfmpegWriter.Knows(path))
            throw new InputException($"A rebuild is a WAV, FLAC or MP3 file; end '{path}' in .wav, .flac or .mp3.");
    }

    private static void WriteWav(string path, int bits, Action<WavWriter> write, int sampleRate = SampleRate)
    {
        if (!FfmpegWriter.Knows(path))
        {
            OutputFile.Write(path, stream => Fill(stream));
            return;
        }

        string folder = Directory.CreateTempSubdirectory("hindbeat-").FullName;
        try
        {
            string wav = Path.Combine(folder, "rebuild.wav");
            OutputFile.Write(wav, stream => Fill(stream));
            FfmpegWriter.Encode(wav, path);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }

        void Fill(Stream stream)
        {
            using var writer = new WavWriter(stream, sampleRate, bits);
            write(writer);
            writer.Complete();
        }
    }
}
