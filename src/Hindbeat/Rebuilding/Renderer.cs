using System.Numerics.Tensors;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>
/// Turns plans into sound on a kit. Each version is brought to the same integrated loudness (ITU-R
/// BS.1770) by one plain gain, turned down together where a true peak would pass the ceiling: nothing is
/// limited or compressed, so the touch stays as planned.
/// </summary>
public static class Renderer
{
    /// <summary>Receives the next frames of a streaming render; the spans are reused after it returns.</summary>
    public delegate void BlockSink(ReadOnlySpan<float> left, ReadOnlySpan<float> right);

    private const int LowestRate = 8000;
    private const int HighestRate = 384000;

    /// <exception cref="InputException">No strokes, a stroke out of range, or a rate outside 8 to 384 kHz.</exception>
    public static StereoSound Render(IReadOnlyList<PlannedStroke> plan, Kit kit, int sampleRate = MonoSound.AnalysisRate, RenderOptions? options = null) =>
        RenderVersions([plan], kit, sampleRate, options)[0];

    /// <summary>
    /// Versions to be compared by ear: all at one loudness, the target or the highest below it at which
    /// no version passes the ceiling.
    /// </summary>
    public static IReadOnlyList<StereoSound> RenderVersions(
        IReadOnlyList<IReadOnlyList<PlannedStroke>> plans, Kit kit, int sampleRate = MonoSound.AnalysisRate, RenderOptions? options = null)
    {
        ArgumentNullException.ThrowIfNull(plans);
        options ??= new RenderOptions();
        StereoSound[] sounds = [.. plans.Select(plan => InMemory(Mixer(plan, kit, sampleRate, options), sampleRate))];
        Leveling.ToOneLoudness(sounds, options.TargetLufs, options.CeilingDbtp);
        return sounds;
    }

    /// <summary>
    /// The same sound as <see cref="Render"/> in blocks, in memory that does not grow with its length
    /// (but for the plan itself and one number per 100 ms). The plan is sounded twice: once to measure it.
    /// </summary>
    /// <returns>How many frames were given out.</returns>
    public static long Stream(IReadOnlyList<PlannedStroke> plan, Kit kit, int sampleRate, BlockSink sink, RenderOptions? options = null, CancellationToken cancel = default)
    {
        ArgumentNullException.ThrowIfNull(sink);
        options ??= new RenderOptions();
        StrokeMixer mixer = Mixer(plan, kit, sampleRate, options);
        return Run(mixer, sink, (float)Leveling.Gain(Measure(mixer, sampleRate, cancel), options.TargetLufs, options.CeilingDbtp), cancel);
    }

    /// <summary>
    /// The loudness at which several versions all keep their ceiling: the target, or the highest below it. To be asked for as
    /// <see cref="RenderOptions.TargetLufs"/> where versions that will be compared are written one by one.
    /// </summary>
    public static double CommonLoudness(IEnumerable<(IReadOnlyList<PlannedStroke> Plan, RenderOptions Options)> versions, Kit kit, int sampleRate = MonoSound.AnalysisRate, CancellationToken cancel = default)
    {
        ArgumentNullException.ThrowIfNull(versions);
        double lufs = double.PositiveInfinity;
        foreach ((IReadOnlyList<PlannedStroke> plan, RenderOptions options) in versions)
        {
            lufs = Math.Min(lufs, Leveling.CommonTarget([Measure(Mixer(plan, kit, sampleRate, options), sampleRate, cancel)], options.TargetLufs, options.CeilingDbtp));
        }

        return double.IsFinite(lufs) ? lufs : throw new ArgumentException("There are no versions.", nameof(versions));
    }

    /// <summary>
    /// <see cref="Stream"/> into a WAV file, which appears under its name only when it is complete.
    /// </summary>
    /// <param name="bits">16 (dithered) or 24.</param>
    /// <returns>The file's length.</returns>
    /// <exception cref="InputException">As for <see cref="Render"/>, or the file cannot be written there.</exception>
    public static Seconds RenderToWav(
        IReadOnlyList<PlannedStroke> plan, Kit kit, string path, int sampleRate = MonoSound.AnalysisRate, int bits = 24, RenderOptions? options = null, CancellationToken cancel = default)
    {
        using WavWriter writer = WavWriter.ToFile(path, sampleRate, bits);
        long frames = Stream(plan, kit, sampleRate, writer.Write, options, cancel);
        writer.Complete();
        return Seconds.Of((double)frames / sampleRate);
    }

    internal static StrokeMixer Mixer(IReadOnlyList<PlannedStroke> plan, Kit kit, int sampleRate, RenderOptions options)
    {
        ArgumentNullException.ThrowIfNull(plan);
        ArgumentNullException.ThrowIfNull(kit);
        if (sampleRate is < LowestRate or > HighestRate)
            throw new InputException($"A sample rate of {sampleRate} Hz cannot be rendered; give one from {LowestRate} to {HighestRate}, like 44100.");
        if (plan.Count == 0 && options.Clicks.Count == 0)
            throw new InputException("There are no strokes to rebuild; does the passage hold any hits?");
        foreach (PlannedStroke stroke in plan)
        {
            if (!(stroke.Velocity > 0 && stroke.Velocity <= 127))
                throw new InputException(FormattableString.Invariant($"The {stroke.Piece} stroke at {stroke.Time} has the velocity {stroke.Velocity}; velocities lie between 1 and 127."));
        }

        if (options.To is { } to && options.From is { } from && to <= from)
            throw new InputException($"The rebuild would end at {to}, before it begins at {from}.");
        return new StrokeMixer(plan, kit, sampleRate, options);
    }

    private static StereoSound InMemory(StrokeMixer mixer, int sampleRate)
    {
        if (mixer.TotalFrames > Array.MaxLength)
            throw new InputException("The rebuild is too long to hold in memory; write it to a file instead.");
        var left = new float[mixer.TotalFrames];
        var right = new float[mixer.TotalFrames];
        int done = 0;
        int frames;
        while ((frames = mixer.Mix(left.AsSpan(done), right.AsSpan(done))) > 0)
            done += frames;
        return new StereoSound(left, right, sampleRate);
    }

    /// <summary>How loud a plan sounds; the mixer stands at its beginning again afterwards.</summary>
    internal static Leveling.Measured Measure(StrokeMixer mixer, int sampleRate, CancellationToken cancel)
    {
        var measured = new Leveling.Measurement(sampleRate);
        Run(mixer, measured.Add, 1, cancel);
        mixer.Rewind();
        return measured.Result();
    }

    internal static long Run(StrokeMixer mixer, BlockSink sink, float gain, CancellationToken cancel)
    {
        var left = new float[StrokeMixer.BlockFrames];
        var right = new float[StrokeMixer.BlockFrames];
        long total = 0;
        int frames;
        while ((frames = mixer.Mix(left, right)) > 0)
        {
            cancel.ThrowIfCancellationRequested();
            TensorPrimitives.Multiply(left.AsSpan(0, frames), gain, left);
            TensorPrimitives.Multiply(right.AsSpan(0, frames), gain, right);
            sink(left.AsSpan(0, frames), right.AsSpan(0, frames));
            total += frames;
        }

        return total;
    }
}
