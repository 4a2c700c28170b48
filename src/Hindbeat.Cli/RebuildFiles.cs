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

    /// <summary>Versions on the house kit, all equally loud.</summary>
    /// <param name="versions">Each one's dials and where it goes.</param>
    /// <param name="bits">16 or 24.</param>
    public static void WriteHouse(Performance performance, FeelReport feel, IReadOnlyList<(Dials Dials, string Path)> versions, int bits, CancellationToken cancel)
    {
        Kit kit = HouseKit.Load();
        var planned = versions.Select(version => (Plan: RebuildPlan.Make(performance, feel, version.Dials), Options: new RenderOptions())).ToArray();
        double lufs = Renderer.CommonLoudness(planned, kit, SampleRate, cancel);
        for (int i = 0; i < versions.Count; i++)
        {
            (IReadOnlyList<PlannedStroke> plan, RenderOptions options) = planned[i];
            WriteWav(versions[i].Path, bits, wav => Renderer.Stream(plan, kit, SampleRate, wav.Write, options with { TargetLufs = lufs }, cancel));
        }
    }

    /// <summary>One version, with its click inside or in a file apart, as loud as the study's ready versions would be.</summary>
    /// <returns>Its integrated loudness, LUFS.</returns>
    public static double WriteVersion(FoundStudy study, Dials dials, Kit kit, ClickOptions click, string? clickApart, int bits, string path, CancellationToken cancel)
    {
        bool isInside = clickApart is null;
        (IReadOnlyList<PlannedStroke> plan, RenderOptions options) = Plan(study, dials, click);
        if (!isInside && options.Clicks.Count == 0)
            throw new InputException("--click-apart needs a click: add --click 1 or --count-in 1.");
        // Files are written by one command each and compared by ear all the same.
        IEnumerable<Dials> compared = Dials.Ready.Values.Select(ready => ready with { TempoTo = dials.TempoTo, FeelScale = dials.FeelScale, FreshLooseness = dials.FreshLooseness }).Append(dials);
        double lufs = Renderer.CommonLoudness(compared.Select(each => Music(Plan(study, each, click))), kit, SampleRate, cancel);
        RenderOptions music = Music((plan, options)).Options with { TargetLufs = lufs };
        WriteWav(path, bits, wav => Renderer.Stream(plan, kit, SampleRate, wav.Write, music, cancel));
        if (!isInside)
            WriteWav(clickApart!, bits, wav => Renderer.Stream([], kit, SampleRate, wav.Write, options with { TargetLufs = lufs }, cancel));
        return lufs;

        (IReadOnlyList<PlannedStroke> Plan, RenderOptions Options) Music((IReadOnlyList<PlannedStroke> Plan, RenderOptions Options) version) =>
            isInside ? version : (version.Plan, version.Options with { Clicks = [] });
    }

    /// <summary>Strokes and clicks of a version. It begins where the passage does, not where the recording does, or with the count-in.</summary>
    private static (IReadOnlyList<PlannedStroke> Plan, RenderOptions Options) Plan(FoundStudy study, Dials dials, ClickOptions click)
    {
        IReadOnlyList<PlannedStroke> plan = RebuildPlan.Make(study.Performance, study.Feel, dials);
        IReadOnlyList<PlannedClick> clicks = ClickTrack.Make(RebuildTempo.PulseOf(study.Performance, dials), click);
        AudioTime from = RebuildTempo.TimeOf(study.Performance, dials, study.From);
        foreach (AudioTime first in plan.Select(stroke => stroke.Time).Concat(clicks.Select(each => each.Time)))
            from = first - Lead < from ? first - Lead : from;
        return (plan, new RenderOptions { From = from, Clicks = clicks });
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
        IReadOnlyList<(double Seconds, string Name)> cues = [];
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
            FfmpegWriter.Encode(wav, path, cues: cues);
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
            cues = [.. writer.Cues.Select(cue => ((double)cue.Frame / sampleRate, cue.Name))];
        }
    }
}
