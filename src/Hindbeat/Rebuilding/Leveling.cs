using System.Numerics.Tensors;
using Hindbeat.Sound;

namespace Hindbeat.Rebuilding;

/// <summary>Finds the one gain that makes versions equally loud and keeps every true peak under a ceiling.</summary>
internal static class Leveling
{
    /// <summary>Under the ceiling by this much, so that rounding to 16 bit or a finer meter does not find it passed.</summary>
    private const double MarginDb = 0.05;

    /// <param name="Lufs">Negative infinity for a sound too short or too quiet to have a loudness.</param>
    public readonly record struct Measured(double Lufs, double Dbtp);

    /// <summary>Linear gain for one sound.</summary>
    public static double Gain(Measured sound, double targetLufs, double ceilingDbtp) =>
        Math.Pow(10, GainDb(sound, CommonTarget([sound], targetLufs, ceilingDbtp), ceilingDbtp) / 20);

    /// <summary>Linear gains that bring several sounds to one loudness.</summary>
    public static double[] Gains(IReadOnlyList<Measured> sounds, double targetLufs, double ceilingDbtp)
    {
        double target = CommonTarget(sounds, targetLufs, ceilingDbtp);
        return [.. sounds.Select(sound => Math.Pow(10, GainDb(sound, target, ceilingDbtp) / 20))];
    }

    /// <summary>Brings the sounds to one loudness in place.</summary>
    public static void ToOneLoudness(IReadOnlyList<StereoSound> sounds, double targetLufs, double ceilingDbtp)
    {
        Measured[] measured = [.. sounds.Select(Measure)];
        double target = CommonTarget(measured, targetLufs, ceilingDbtp);
        for (int i = 0; i < sounds.Count; i++)
        {
            float gain = (float)Math.Pow(10, GainDb(measured[i], target, ceilingDbtp) / 20);
            TensorPrimitives.Multiply(sounds[i].Left, gain, sounds[i].Left);
            TensorPrimitives.Multiply(sounds[i].Right, gain, sounds[i].Right);
        }
    }

    /// <summary>The target, lowered until the version with the most peak over its loudness stays under the ceiling.</summary>
    public static double CommonTarget(IReadOnlyList<Measured> sounds, double targetLufs, double ceilingDbtp)
    {
        double target = targetLufs;
        foreach (Measured sound in sounds)
        {
            if (double.IsFinite(sound.Lufs))
                target = Math.Min(target, ceilingDbtp - MarginDb - (sound.Dbtp - sound.Lufs));
        }

        return target;
    }

    /// <summary>A sound without a loudness (a single short stroke) stays as loud as the kit has it, under the ceiling.</summary>
    private static double GainDb(Measured sound, double target, double ceilingDbtp) => double.IsFinite(sound.Lufs)
        ? target - sound.Lufs
        : Math.Min(0, ceilingDbtp - MarginDb - sound.Dbtp);

    private static Measured Measure(StereoSound sound)
    {
        var measurement = new Measurement(sound.SampleRate);
        measurement.Add(sound.Left, sound.Right);
        return measurement.Result();
    }

    /// <summary>Loudness and true peak of a stream.</summary>
    public sealed class Measurement(int sampleRate)
    {
        private readonly LoudnessMeter _loudness = new(sampleRate);
        private readonly TruePeakMeter _left = new();
        private readonly TruePeakMeter _right = new();

        public void Add(ReadOnlySpan<float> left, ReadOnlySpan<float> right)
        {
            _loudness.Add(left, right);
            _left.Add(left);
            _right.Add(right);
        }

        public Measured Result()
        {
            _left.Finish();
            _right.Finish();
            return new Measured(_loudness.IntegratedLufs(), Math.Max(_left.Dbtp, _right.Dbtp));
        }
    }
}
