using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>One version in a lesson's set.</summary>
/// <param name="Name">What the cue point and the file are called: "swung".</param>
public sealed record LessonPart(string Name, Dials Dials);

/// <summary>
/// The same bars several times over, each time with more of the feel: every version as loud as the others, each
/// with its count-in, a pause after it. Streams: an hour takes no more memory than a minute.
/// </summary>
public sealed class LessonSet
{
    private readonly StrokeMixer[] _mixers;
    private readonly double[] _gains;

    private LessonSet(IReadOnlyList<LessonPart> parts, StrokeMixer[] mixers, double[] gains, double lufs, int sampleRate)
    {
        Lufs = lufs;
        Parts = parts;
        SampleRate = sampleRate;
        _mixers = mixers;
        _gains = gains;
    }

    /// <summary>From the chart's bars to more than was played.</summary>
    public static IReadOnlyList<LessonPart> Usual { get; } =
    [
        new("straight", Dials.AsWritten),
        new("swung", Dials.SwingOnly),
        new("swung and laid back", Dials.SwungAndLaidBack),
        new("as played", Dials.AsPlayed),
        new("exaggerated", Dials.Exaggerated),
    ];

    public IReadOnlyList<LessonPart> Parts { get; }
    public int SampleRate { get; }

    /// <summary>Integrated loudness of every version.</summary>
    public double Lufs { get; }

    /// <summary>Frames of one part, its count-in and pause included.</summary>
    public long FramesOf(int part) => _mixers[part].TotalFrames;

    /// <param name="click">Its count-in comes before every part; 0 bars give none.</param>
    /// <param name="pauseBars">Bars of rest after each part, in which the last stroke rings out.</param>
    /// <param name="options">Loudness and seed; times and clicks are the set's own.</param>
    /// <exception cref="InputException">No parts, a dial or an option out of range, or nothing to play.</exception>
    public static LessonSet Prepare(
        Performance performance, FeelReport feel, IReadOnlyList<LessonPart> parts, Kit kit, ClickOptions click, int pauseBars = 1,
        int sampleRate = MonoSound.AnalysisRate, RenderOptions? options = null, CancellationToken cancel = default)
    {
        ArgumentNullException.ThrowIfNull(parts);
        ArgumentNullException.ThrowIfNull(click);
        if (parts.Count == 0)
            throw new InputException("A set needs at least one version.");
        if (pauseBars is < 0 or > ClickOptions.MostCountInBars)
            throw new InputException($"A pause of {pauseBars} bars cannot be made; give 0 to {ClickOptions.MostCountInBars}.");
        options ??= new RenderOptions();
        var mixers = new StrokeMixer[parts.Count];
        var measured = new Leveling.Measured[parts.Count];
        for (int i = 0; i < parts.Count; i++)
        {
            IReadOnlyList<PlannedStroke> plan = RebuildPlan.Make(performance, feel, parts[i].Dials);
            Pulse pulse = RebuildTempo.PulseOf(performance, parts[i].Dials);
            mixers[i] = Renderer.Mixer(plan, kit, sampleRate, Times(plan, pulse, click, pauseBars, options));
            measured[i] = Renderer.Measure(mixers[i], sampleRate, cancel);
        }

        double lufs = Leveling.CommonTarget(measured, options.TargetLufs, options.CeilingDbtp);
        return new LessonSet(parts, mixers, Leveling.Gains(measured, options.TargetLufs, options.CeilingDbtp), lufs, sampleRate);
    }

    /// <summary>Gives out one part block by block.</summary>
    public void Stream(int part, Renderer.BlockSink sink, CancellationToken cancel = default)
    {
        ArgumentNullException.ThrowIfNull(sink);
        _mixers[part].Rewind();
        Renderer.Run(_mixers[part], sink, (float)_gains[part], cancel);
    }

    /// <summary>All parts into one WAV, a named cue point at each beginning.</summary>
    public void Write(WavWriter writer, CancellationToken cancel = default)
    {
        ArgumentNullException.ThrowIfNull(writer);
        for (int part = 0; part < Parts.Count; part++)
        {
            writer.AddCue(Parts[part].Name);
            Stream(part, writer.Write, cancel);
        }
    }

    /// <summary>From the count-in (or a stroke before the first bar) to the pause's end.</summary>
    private static RenderOptions Times(IReadOnlyList<PlannedStroke> plan, Pulse pulse, ClickOptions click, int pauseBars, RenderOptions options)
    {
        double first = Math.Min(ClickTrack.StartOf(pulse, click).TotalSeconds, plan.Min(stroke => stroke.Time.TotalSeconds) - LeadSeconds);
        double bars = pauseBars * pulse.MeterAt(pulse.LastBar).BeatsPerBar * pulse.MeanTempo.Beat.Value;
        double last = Math.Max(pulse.Beats[^1].Time.TotalSeconds + pulse.MeanTempo.Beat.Value, plan.Max(stroke => stroke.Time.TotalSeconds) + TailSeconds);
        return options with { From = AudioTime.FromSeconds(first), To = AudioTime.FromSeconds(last + bars), Clicks = ClickTrack.Make(pulse, click) };
    }

    /// <summary>Sound before the first stroke, so that it does not start on the file's first sample.</summary>
    private const double LeadSeconds = 0.05;

    /// <summary>The last stroke sounds at least this long.</summary>
    private const double TailSeconds = 0.5;
}
