using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Bench.Desk;

/// <summary>A sound with what its listener must know of it.</summary>
/// <param name="Lufs">Integrated loudness after ITU-R BS.1770; −∞ when there is nothing to be heard.</param>
/// <param name="Times">Pairs [second of the sound, second of the recording], rising: how the playhead follows. Empty = from the passage's start to its end.</param>
public sealed record HeardSound(StereoSound Sound, double Lufs, IReadOnlyList<double[]> Times);

/// <summary>The passage as recorded and as rebuilt.</summary>
public sealed class StudySounds
{
    /// <summary>As sent to the page: CD rate is enough for any drum and any browser plays it.</summary>
    private const int Rate = 44100;

    /// <summary>A rebuilt stretch begins this much before it is asked for, so that what rings into it is heard.</summary>
    private static readonly Seconds Lead = Seconds.Of(0.5);

    private readonly Kept<StereoSound?> _originals = new(1);
    private readonly Kept<HeardSound?> _played = new(2);
    private readonly Kept<HeardSound> _rebuilds = new(6);

    /// <summary>The passage's own sound; null when its file is gone or can no longer be read.</summary>
    public StereoSound? Original(Study study) => _originals.For(OriginalOf(study), () =>
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

    /// <summary><see cref="Original"/> with its loudness.</summary>
    public HeardSound? Played(Study study) => _played.For(OriginalOf(study), () => Original(study) is { } sound ? Heard(sound) : null);

    /// <summary>A stretch of <see cref="Original"/>, there at once while the whole is still on its way.</summary>
    /// <exception cref="InputException">The stretch lies outside the passage.</exception>
    public HeardSound? Played(Study study, AudioTime from, AudioTime to)
    {
        if (Played(study) is not { Sound: var sound } whole)
            return null;
        int first = Math.Clamp((int)((from - study.From).Value * sound.SampleRate), 0, sound.Left.Length);
        int last = Math.Clamp((int)((to - study.From).Value * sound.SampleRate), 0, sound.Left.Length);
        if (last <= first)
            throw new InputException("Nothing of the passage lies there.");
        double start = study.From.TotalSeconds + ((double)first / sound.SampleRate), length = (double)(last - first) / sound.SampleRate;
        // The whole's loudness: the level must not step where the whole takes over.
        return new HeardSound(new StereoSound(sound.Left[first..last], sound.Right[first..last], sound.SampleRate), whole.Lufs, [[0, start], [length, start + length]]);
    }

    /// <summary>The passage's own sound at another speed with its attacks as they were; null as for <see cref="Original"/>.</summary>
    /// <exception cref="InputException">The speed is out of range.</exception>
    public HeardSound? Slowed(Study study, double speed) => _played.For(string.Create(CultureInfo.InvariantCulture, $"{StudyDesk.KeyOf(study)} {speed}"), () =>
        Original(study) is { } sound ? Heard(SlowedOriginal.Make(sound, study.From, study.Performance, speed)) : null);

    /// <summary>A rebuild of the passage, or of a stretch of it when one is only to be heard there: that is ready sooner.</summary>
    /// <param name="from">The recording's moment where it begins; null = the passage's start.</param>
    /// <exception cref="InputException">A dial is out of range, or nothing sounds there.</exception>
    public HeardSound Rebuild(Study study, Dials dials, AudioTime? from = null, AudioTime? to = null) =>
        _rebuilds.For(string.Create(CultureInfo.InvariantCulture, $"{StudyDesk.KeyOf(study)} {dials} {from?.TotalSeconds} {to?.TotalSeconds}"), () =>
        {
            Performance performance = study.Performance;
            Pulse heard = RebuildTempo.PulseOf(performance, dials);
            AudioTime start = from is { } begin ? heard.TimeAt(performance.Pulse.BeatsAt(begin)) - Lead : study.From;
            if (start < study.From)
                start = study.From;
            AudioTime? end = to is { } stop ? heard.TimeAt(performance.Pulse.BeatsAt(stop)) + Lead : null;
            IReadOnlyList<PlannedStroke> plan = RebuildPlan.Make(performance, study.Feel, dials);
            StereoSound sound = Renderer.Render(plan, HouseKit.Load(), Rate, new RenderOptions { From = start, To = end });
            return Heard(sound) with { Times = [.. heard.Beats.Zip(performance.Pulse.Beats, (rebuilt, played) => new[] { (rebuilt.Time - start).Value, played.Time.TotalSeconds })] };
        });

    private static HeardSound Heard(StereoSound sound) => new(sound, Loudness.IntegratedLufs(sound), []);

    private static string OriginalOf(Study study) => $"{study.Id} {study.Created.UtcTicks}";
}
