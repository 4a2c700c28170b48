using System.Numerics.Tensors;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Takes;

/// <summary>
/// The clicks of <see cref="LatencyCalibration"/> as a sound, and the finding of them in what was recorded while they sounded.
/// </summary>
/// <remarks>
/// A matched filter: the recording is laid against the click itself, and a click is where the two go together best, |r| of
/// the cross-correlation divided by the energy under the click. A loudspeaker or a room may turn the wave over, hence the absolute value.
/// </remarks>
public static class CalibrationClicks
{
    /// <summary>Silence before the first click, seconds.</summary>
    public const double Lead = 0.5;

    /// <summary>After the last one: the longest delay that is looked for.</summary>
    public const double Tail = 1.6;

    /// <summary>Correlation from which a place of the recording counts as a click. Noise of a click's length seldom reaches a third of it.</summary>
    private const double LeastLikeness = 0.5;

    /// <summary>Clicks softer than this share of the loudest one are echoes.</summary>
    private const double LeastShare = 0.25;

    private const int LowestRate = 8000, HighestRate = 384000;

    /// <summary>When each click begins, on the sound's own clock.</summary>
    public static IReadOnlyList<AudioTime> Played { get; } = [.. LatencyCalibration.Plan.Select(time => AudioTime.FromSeconds(Lead + time.Value))];

    /// <summary>Length of the sound.</summary>
    public static Seconds Length { get; } = (Played[^1] - AudioTime.Zero) + Seconds.Of(Tail);

    /// <summary>The clicks, on both sides alike.</summary>
    public static StereoSound Make(int sampleRate)
    {
        CheckRate(sampleRate);
        float[] click = Click(sampleRate);
        float[] sound = new float[(int)Math.Ceiling(Length.Value * sampleRate)];
        foreach (AudioTime time in Played)
        {
            Span<float> at = sound.AsSpan((int)Math.Round(time.TotalSeconds * sampleRate), click.Length);
            click.CopyTo(at);
        }

        return new StereoSound(sound, [.. sound], sampleRate);
    }

    /// <summary>The delay of a recording that began when the clicks' sound began.</summary>
    /// <exception cref="InputException">The rate is no recording's, or too few clicks came back.</exception>
    public static Latency Measure(ReadOnlySpan<float> recording, int sampleRate)
    {
        CheckRate(sampleRate);
        return LatencyCalibration.Measure(Played, Find(recording, sampleRate));
    }

    /// <summary>Where clicks begin in a recording.</summary>
    internal static IReadOnlyList<AudioTime> Find(ReadOnlySpan<float> recording, int sampleRate)
    {
        float[] click = Click(sampleRate);
        int places = recording.Length - click.Length + 1;
        if (places < 1)
            return [];
        double energyOfClick = TensorPrimitives.SumOfSquares<float>(click);
        float[] matched = new float[places];
        double energy = TensorPrimitives.SumOfSquares(recording[..click.Length]);
        for (int at = 0; at < places; at++)
        {
            float match = Math.Abs(TensorPrimitives.Dot(recording.Slice(at, click.Length), click));
            matched[at] = match >= LeastLikeness * Math.Sqrt(Math.Max(energy, 1e-12) * energyOfClick) ? match : 0;
            if (at + 1 < places)
                energy += (recording[at + click.Length] * (double)recording[at + click.Length]) - (recording[at] * (double)recording[at]);
        }

        float least = (float)(LeastShare * TensorPrimitives.Max<float>(matched));
        var found = new List<AudioTime>();
        for (int at = 0; at < places;)
        {
            if (matched[at] <= least || matched[at] == 0)
            {
                at++;
                continue;
            }

            // One click: the best place within a click's length.
            int until = Math.Min(places, at + click.Length), best = at + TensorPrimitives.IndexOfMax<float>(matched.AsSpan(at, until - at));
            found.Add(AudioTime.FromSeconds((best + Between(matched, best)) / sampleRate));
            at = best + click.Length;
        }

        return found;
    }

    /// <summary>The summit of the parabola through a maximum and its neighbours, samples from the maximum.</summary>
    private static double Between(float[] values, int at)
    {
        if (at == 0 || at + 1 == values.Length)
            return 0;
        double bend = values[at - 1] - (2.0 * values[at]) + values[at + 1];
        return bend < 0 ? Math.Clamp(0.5 * (values[at - 1] - values[at + 1]) / bend, -0.5, 0.5) : 0;
    }

    private static float[] Click(int sampleRate) => ClickSounds.Make(ClickKind.Beat, sampleRate).Samples.ToArray();

    internal static void CheckRate(int sampleRate)
    {
        if (sampleRate is < LowestRate or > HighestRate)
            throw new InputException($"{sampleRate} samples a second are no recording's; from {LowestRate} to {HighestRate} are usual.");
    }
}
