using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Bench.Desk;

/// <summary>A rebuild with what its listener must know of it.</summary>
/// <param name="Times">Pairs [second of the sound, second of the recording], rising, a pair a beat: how the playhead follows.</param>
public sealed record RebuiltSound(StereoSound Sound, IReadOnlyList<double[]> Times);

/// <summary>The passage as recorded and as rebuilt.</summary>
public sealed class StudySounds
{
    /// <summary>As sent to the page: CD rate is enough for any drum and any browser plays it.</summary>
    private const int Rate = 44100;

    /// <summary>A rebuilt stretch begins this much before it is asked for, so that what rings into it is heard.</summary>
    private static readonly Seconds Lead = Seconds.Of(0.5);

    private readonly Kept<StereoSound?> _originals = new(1);
    private readonly Kept<RebuiltSound> _rebuilds = new(6);
    private readonly Kept<StereoSound?> _slowed = new(1);

    /// <summary>The passage's own sound; null when its file is gone or can no longer be read.</summary>
    public StereoSound? Original(Study study) => _originals.For($"{study.Id} {study.Created.UtcTicks}", () =>
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

    /// <summary>The passage's own sound at another speed with its attacks as they were; null as for <see cref="Original"/>.</summary>
    /// <exception cref="InputException">The speed is out of range.</exception>
    public StereoSound? Slowed(Study study, double speed) => _slowed.For(string.Create(CultureInfo.InvariantCulture, $"{StudyDesk.KeyOf(study)} {speed}"), () =>
        Original(study) is { } sound ? SlowedOriginal.Make(sound, study.From, study.Performance, speed) : null);

    /// <summary>A rebuild of the passage, or of a stretch of it when one is only to be heard there: that is ready sooner.</summary>
    /// <param name="from">The recording's moment where it begins; null = the passage's start.</param>
    /// <exception cref="InputException">A dial is out of range, or nothing sounds there.</exception>
    public RebuiltSound Rebuild(Study study, Dials dials, AudioTime? from = null, AudioTime? to = null) =>
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
            return new RebuiltSound(sound, [.. heard.Beats.Zip(performance.Pulse.Beats, (rebuilt, played) => new[] { (rebuilt.Time - start).Value, played.Time.TotalSeconds })]);
        });
}
