using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Bench.Desk;

/// <summary>The passage as recorded and as rebuilt.</summary>
public sealed class StudySounds
{
    /// <summary>A waveform's columns: one a pixel on a wide page, and as seen at double density on a tablet.</summary>
    private const int Columns = 1600;

    /// <summary>A waveform is small; the sounds of one three-minute study are some 100 MB.</summary>
    private const int KeptWaveforms = 16;

    private readonly Kept<StereoSound?> _originals = new(1);
    private readonly Kept<IReadOnlyList<StereoSound>> _rebuilds = new(1);
    private readonly Kept<IReadOnlyList<(float Low, float High)>?> _waveforms = new(KeptWaveforms);

    /// <summary>The passage's own sound; null when its file is gone or can no longer be read.</summary>
    public StereoSound? Original(Study study) => _originals.For(StudyDesk.KeyOf(study), () =>
    {
        if (study.Source is not { } source || !File.Exists(source))
            return null;
        try
        {
            return SoundLoader.LoadStereo(source, study.From, study.To);
        }
        catch (InputException)
        {
            // Something else lies under that name by now; to the page that is the same as nothing.
            return null;
        }
    });

    /// <summary>Lowest and highest sample of either channel in each column of the passage; null when there is no sound.</summary>
    public IReadOnlyList<(float Low, float High)>? Waveform(Study study) => _waveforms.For(StudyDesk.KeyOf(study), () =>
    {
        if (Original(study) is not { } sound)
            return null;
        // The passage's length, not the file's: a file that ends early must not stretch the picture.
        long length = (long)((study.To - study.From).Value * sound.SampleRate);
        using MonoSound left = MonoSound.FromSamples(sound.Left, sound.SampleRate);
        using MonoSound right = MonoSound.FromSamples(sound.Right, sound.SampleRate);
        return [.. Sound.Waveform.Peaks(left, Columns, 0, length).Zip(
            Sound.Waveform.Peaks(right, Columns, 0, length),
            (a, b) => (Math.Min(a.Low, b.Low), Math.Max(a.High, b.High)))];
    });

    /// <summary>A rebuild that begins at the passage's start; all versions are equally loud.</summary>
    public StereoSound Rebuild(Study study, RebuildVersion version) => _rebuilds.For(StudyDesk.KeyOf(study), () =>
        Renderer.RenderVersions(
            [.. RebuildVersions.All.Select(each => RebuildPlan.Make(study.Performance, study.Feel, each.Dials()))],
            HouseKit.Load(),
            options: new RenderOptions { From = study.From }))[(int)version];

    /// <summary>
    /// How the playhead follows a rebuild: pairs [second of the sound, second of the recording], a pair a beat. With the
    /// tempo dial at 0 the rebuild runs steadily at the mean tempo from the pulse's first beat on.
    /// </summary>
    public static IReadOnlyList<double[]> RebuildTimes(Study study, RebuildVersion version)
    {
        Pulse played = study.Performance.Pulse;
        Pulse heard = version.Dials().Tempo == 0
            ? Pulse.Steady(played.Meter, played.MeanTempo, played.Beats[0].Time, played.Beats.Count)
            : played;
        return [.. heard.Beats.Zip(played.Beats, (sound, recording) => new[] { (sound.Time - study.From).Value, recording.Time.TotalSeconds })];
    }
}
