using System.Buffers.Binary;
using System.Numerics.Tensors;
using System.Text.Json.Nodes;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Units;

namespace Hindbeat.Handouts;

/// <summary>
/// The sound of a lesson as the page carries it: each stroke's sound once, and for every version when which of them
/// sounds how loud. The page plays strokes, not recordings, so versions switch in time, any tempo keeps the drums' own
/// sound, and all of it is a few megabytes.
/// </summary>
/// <remarks>
/// Which sound a stroke gets, its gain, its place between the loudspeakers and when a hat chokes another are those of the
/// <see cref="Renderer"/>, and versions are as loud as one another by the same measure (BS.1770).
/// </remarks>
internal static class LessonSound
{
    private const int SampleRate = 44100;

    /// <summary>Sounds of one lesson, in bytes of 16-bit mono; in base64 a third more.</summary>
    private const int MostBytes = 5_200_000;

    /// <summary>Tails are cut at the first of these lengths, in seconds, that fits; a crash rings longest.</summary>
    private static readonly double[] Lengths = [4, 3, 2.2, 1.6, 1.2, 0.9, 0.7, 0.5, 0.35, 0.25];

    private const double FadeSeconds = 0.06;

    /// <summary>A tail that has fallen so far under its peak is over.</summary>
    private const float Silence = 0.001f;

    private const double TargetLufs = -23, CeilingDbtp = -1;

    /// <exception cref="InputException">The kit has so many sounds in use that the page would be too large.</exception>
    public static JsonObject Write(Lesson lesson)
    {
        Kit kit = lesson.Kit.AtRate(SampleRate);
        var sounds = new Dictionary<KitSample, int>();
        var plans = lesson.Versions.Select(version => RebuildPlan.Make(lesson.Performance, lesson.Feel, version.Dials)).ToList();
        double[] gains = GainsOf(plans, kit);
        var versions = new JsonArray();
        for (int v = 0; v < plans.Count; v++)
            versions.Add(VersionOf(lesson, v, plans[v], kit, gains[v], sounds));
        return new JsonObject
        {
            ["rate"] = SampleRate,
            ["bpm"] = Math.Round(lesson.Performance.Pulse.MeanTempo.Value, 2),
            ["beatsPerBar"] = lesson.Performance.Meter.BeatsPerBar,
            ["firstBar"] = lesson.Performance.Pulse.Beats[0].Bar,
            ["firstBeat"] = lesson.Performance.Pulse.Beats[0].Number,
            ["beats"] = lesson.Performance.Pulse.Beats.Count,
            ["sounds"] = SoundsOf([.. sounds.OrderBy(pair => pair.Value).Select(pair => pair.Key)]),
            ["versions"] = versions,
        };
    }

    private static double[] GainsOf(List<IReadOnlyList<PlannedStroke>> plans, Kit kit)
    {
        Leveling.Measured[] measured = [.. plans.Select(plan => Renderer.Measure(Renderer.Mixer(plan, kit, SampleRate, new RenderOptions()), SampleRate, CancellationToken.None))];
        return Leveling.Gains(measured, TargetLufs, CeilingDbtp);
    }

    private static JsonObject VersionOf(Lesson lesson, int version, IReadOnlyList<PlannedStroke> plan, Kit kit, double gain, Dictionary<KitSample, int> sounds)
    {
        Pulse pulse = RebuildTempo.PulseOf(lesson.Performance, lesson.Versions[version].Dials);
        double zero = pulse.Beats[0].Time.TotalSeconds;
        var chooser = new StrokeChooser(kit, new RenderOptions().Seed);
        AudioTime?[] chokes = HatChokes.Of(plan);
        var strokes = new JsonArray();
        for (int i = 0; i < plan.Count; i++)
        {
            KitStroke sound = chooser.Choose(i, plan[i].Piece, plan[i].Velocity);
            if (!sounds.TryGetValue(sound.Sample, out int index))
                sounds[sound.Sample] = index = sounds.Count;
            double time = plan[i].Time.TotalSeconds;
            // Which stroke of the chart, when, which sound, how loud, where between the loudspeakers, and when it is choked.
            strokes.Add(new JsonArray(i, Round(time - zero), index, Round(sound.Gain), Round(PlaceOf(sound.Sample, plan[i].Piece)), chokes[i] is { } choke ? Round(choke.TotalSeconds - zero) : null));
        }

        return new JsonObject
        {
            ["name"] = lesson.Versions[version].Name,
            ["gain"] = Round(gain),
            ["beats"] = new JsonArray([.. pulse.Beats.Select(beat => (JsonNode)Round(beat.Time.TotalSeconds - zero))]),
            ["strokes"] = strokes,
        };
    }

    private static double PlaceOf(KitSample sample, KitPiece piece) => sample.IsStereo || sample.Centred ? 0 : Stage.PlaceOf(piece);

    private static JsonArray SoundsOf(IReadOnlyList<KitSample> samples)
    {
        foreach (double seconds in Lengths)
        {
            float[][] cut = [.. samples.Select(sample => Cut(sample, seconds))];
            if (cut.Sum(sound => 2L * sound.Length) > MostBytes)
                continue;
            var sounds = new JsonArray();
            for (int i = 0; i < cut.Length; i++)
                sounds.Add(new JsonObject { ["onset"] = Round(samples[i].Onset / SampleRate), ["peak"] = PeakOf(cut[i]), ["pcm"] = Pcm(cut[i]) });
            return sounds;
        }

        throw new InputException($"The lesson would hold {samples.Count} different strokes, too many for one page; choose fewer bars, or the house kit.");
    }

    /// <summary>Mono, at most so long, its tail faded out.</summary>
    private static float[] Cut(KitSample sample, double seconds)
    {
        ReadOnlySpan<float> left = sample.Samples;
        int length = Math.Min(left.Length, (int)((seconds * SampleRate) + Math.Max(0, sample.Onset)));
        float[] mono = left[..length].ToArray();
        if (sample.IsStereo)
        {
            // Both channels go to the middle at constant power.
            TensorPrimitives.Add(mono, sample.RightSamples[..length], mono);
            TensorPrimitives.Multiply(mono, MathF.Sqrt(0.5f), mono);
        }

        float floor = Silence * (float)PeakOf(mono);
        int last = length;
        while (last > 1 && MathF.Abs(mono[last - 1]) < floor)
            last--;
        mono = mono[..last];
        int fade = Math.Min(mono.Length, (int)(FadeSeconds * SampleRate));
        for (int i = 0; i < fade; i++)
            mono[mono.Length - 1 - i] *= (float)i / fade;
        return mono;
    }

    private static double PeakOf(float[] sound) => Math.Max(TensorPrimitives.MaxMagnitude(sound) is var peak && peak < 0 ? -peak : peak, 1e-6f);

    /// <summary>16 bit, scaled to the sound's own peak so that soft strokes keep their fineness.</summary>
    private static string Pcm(float[] sound)
    {
        double scale = 32767 / PeakOf(sound);
        var bytes = new byte[2 * sound.Length];
        for (int i = 0; i < sound.Length; i++)
            BinaryPrimitives.WriteInt16LittleEndian(bytes.AsSpan(2 * i), (short)Math.Round(sound[i] * scale));
        return Convert.ToBase64String(bytes);
    }

    private static double Round(double value) => Math.Round(value, 5);
}
