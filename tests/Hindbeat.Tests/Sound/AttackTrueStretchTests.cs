using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Tests.Sound;

/// <summary>Targets of the project: onsets within 2 ms of the scaled truth, rise times within 10 %.</summary>
public class AttackTrueStretchTests
{
    private const int Rate = 44100;
    private static readonly double[] Attacks = [0.20, 0.45, 0.62, 0.90, 1.30, 1.42];

    [Theory]
    [InlineData(0.25)]
    [InlineData(0.5)]
    [InlineData(0.8)]
    [InlineData(1.5)]
    public void Attacks_come_at_the_scaled_moment_with_their_own_samples(double speed)
    {
        StereoSound sound = Strokes();
        StereoSound slow = AttackTrueStretch.Stretch(sound, Attacks, speed);
        Assert.Equal(Math.Round(sound.Left.Length / speed), slow.Left.Length);
        foreach (double attack in Attacks)
        {
            int from = (int)Math.Round(attack * Rate);
            int to = (int)Math.Round(from / speed);
            // From the onset on, sample for sample, for 15 ms.
            for (int i = 0; i < 0.015 * Rate; i++)
                Assert.Equal(sound.Left[from + i], slow.Left[to + i], 1e-5f);
        }
    }

    [Fact]
    public void Pitch_stays_while_time_doubles()
    {
        // A tone that rings for a second after its attack keeps its frequency: count its upward zero crossings.
        var left = new float[2 * Rate];
        for (int i = Rate / 10; i < left.Length; i++)
            left[i] = (float)Math.Sin(2 * Math.PI * 440 * (i - (Rate / 10.0)) / Rate);
        StereoSound slow = AttackTrueStretch.Stretch(new StereoSound(left, [.. left], Rate), [0.1], 0.5);
        int crossings = 0;
        for (int i = Rate; i < 3 * Rate; i++)
        {
            if (slow.Left[i - 1] < 0 && slow.Left[i] >= 0)
                crossings++;
        }

        Assert.InRange(crossings, 878, 882);
        // And its level: a phase vocoder that loses phase loses level.
        double power = slow.Left[Rate..(3 * Rate)].Average(sample => (double)sample * sample);
        Assert.Equal(0.5, power, 0.03);
    }

    [Fact]
    public void At_full_speed_nothing_changes()
    {
        StereoSound sound = Strokes();
        StereoSound same = AttackTrueStretch.Stretch(sound, Attacks, 1);
        Assert.Equal(sound.Left, same.Left);
        Assert.Equal(sound.Right, same.Right);
    }

    // A flam, and a kick behind the hats: both attacks are themselves, and their distance grows like all others.
    [Theory]
    [InlineData(0.006, 0.25)]
    [InlineData(0.006, 0.5)]
    [InlineData(0.018, 0.25)]
    [InlineData(0.018, 0.8)]
    [InlineData(0.030, 0.5)]
    public void Near_strokes_move_apart_and_stay_themselves(double gap, double speed)
    {
        double[] attacks = [0.3, 0.3 + gap, 0.9];
        StereoSound sound = Strokes(attacks);
        StereoSound slow = AttackTrueStretch.Stretch(sound, attacks, speed);
        for (int stroke = 0; stroke < 2; stroke++)
        {
            int from = (int)Math.Round(attacks[stroke] * Rate);
            int to = (int)Math.Round(from / speed);
            // The first one for two thirds of the way to the second, the second for 15 ms.
            int length = (int)((stroke == 0 ? 0.65 * Math.Min(gap, 0.028) : 0.015) * Rate);
            for (int i = 0; i < length; i++)
                Assert.Equal(sound.Left[from + i], slow.Left[to + i], 1e-5f);
        }
    }

    // Target of the project: 10 to 90 % rise within 10 % of the original's, here of strokes that take 12 ms to their peak.
    [Theory]
    [InlineData(0.25)]
    [InlineData(0.6)]
    [InlineData(1.5)]
    public void A_slow_rise_stays_as_long_as_it_was(double speed)
    {
        double[] attacks = [0.3, 0.7, 1.1];
        var left = new float[2 * Rate];
        var noise = new Random(5);
        foreach (double attack in attacks)
        {
            for (int i = 0; (int)(attack * Rate) + i < left.Length; i++)
                left[(int)(attack * Rate) + i] += (float)(((2 * noise.NextDouble()) - 1) * Math.Min(1, i / 530.0) * Math.Exp(-i / 2500.0));
        }

        StereoSound slow = AttackTrueStretch.Stretch(new StereoSound(left, [.. left], Rate), attacks, speed);
        foreach (double attack in attacks)
        {
            double before = Rise(left, (int)(attack * Rate));
            Assert.InRange(before, 0.004, 0.014);
            Assert.Equal(before, Rise(slow.Left, (int)Math.Round((int)(attack * Rate) / speed)), 0.1 * before);
        }
    }

    [Fact]
    public void The_stereo_place_stays()
    {
        StereoSound sound = Strokes();
        var quieter = new StereoSound(sound.Left, [.. sound.Left.Select(sample => 0.25f * sample)], Rate);
        StereoSound slow = AttackTrueStretch.Stretch(quieter, Attacks, 0.5);
        for (int i = 0; i < slow.Left.Length; i++)
            Assert.Equal(0.25f * slow.Left[i], slow.Right[i], 1e-4f);
    }

    [Fact]
    public void Nothing_is_heard_before_the_first_attack()
    {
        StereoSound slow = AttackTrueStretch.Stretch(Strokes(), Attacks, 0.25);
        Assert.All(slow.Left[..(int)(0.79 * Rate)], sample => Assert.Equal(0, sample, 1e-4f));
    }

    [Theory]
    [InlineData(0.1)]
    [InlineData(2)]
    [InlineData(double.NaN)]
    public void A_speed_out_of_range_is_named(double speed) =>
        Assert.Contains("speed", Assert.Throws<InputException>(() => AttackTrueStretch.Stretch(Strokes(), Attacks, speed)).Message, StringComparison.Ordinal);

    /// <summary>Damped tones over damped noise, each starting at an attack.</summary>
    private static StereoSound Strokes() => Strokes(Attacks);

    private static StereoSound Strokes(double[] attacks)
    {
        var left = new float[2 * Rate];
        var noise = new Random(1);
        foreach (double attack in attacks)
        {
            int at = (int)Math.Round(attack * Rate);
            for (int i = 0; at + i < left.Length; i++)
                left[at + i] += (float)((0.4 * Math.Sin(0.03 * (i + 1)) * Math.Exp(-i / 6000.0)) + (0.3 * ((2 * noise.NextDouble()) - 1) * Math.Exp(-i / 2000.0)));
        }

        return new StereoSound(left, [.. left], Rate);
    }

    /// <summary>Seconds from 10 to 90 % of the largest mean amplitude over 2 ms, within 25 ms.</summary>
    private static double Rise(float[] sound, int onset)
    {
        const int smooth = Rate / 500;
        double[] envelope = [.. Enumerable.Range(onset, Rate / 40).Select(i => sound.AsSpan(i - smooth, smooth).ToArray().Average(Math.Abs))];
        double top = envelope.Max();
        int low = Array.FindIndex(envelope, value => value >= 0.1 * top);
        return (Array.FindIndex(envelope, value => value >= 0.9 * top) - low) / (double)Rate;
    }
}
