using Hindbeat.Listening;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Tests.Listening;

/// <summary>Sounds that hold no study: one line that says why.</summary>
public class BadSoundTests
{
    private static string Reason(float[] samples, (AudioTime, AudioTime)? passage = null)
    {
        string reason = Assert.Throws<InputException>(() => Take.Heard(samples, passage)).Message;
        Assert.DoesNotContain('\n', reason);
        return reason;
    }

    [Fact]
    public void Silence_is_said_to_be_silent() => Assert.Contains("silent", Reason(new float[88200]), StringComparison.Ordinal);

    [Fact]
    public void No_samples_at_all() => Assert.Contains("no sound", Reason([]), StringComparison.Ordinal);

    [Theory]
    [InlineData(100)]
    [InlineData(440)]
    [InlineData(1000)]
    [InlineData(8000)]
    public void A_pure_tone_holds_no_strokes(double hertz) =>
        Reason([.. Enumerable.Range(0, 5 * 44100).Select(i => 0.5f * (float)Math.Sin(2 * Math.PI * hertz * i / 44100))]);

    [Fact]
    public void Steady_noise_holds_no_strokes()
    {
        Random random = new(3);
        Reason([.. Enumerable.Range(0, 5 * 44100).Select(_ => random.NextSingle() - 0.5f)]);
    }

    [Fact]
    public void A_single_stroke_is_said_to_be_one() =>
        Assert.Contains("one stroke", Reason(new Take().With(1, "kick").Samples(3)), StringComparison.Ordinal);

    [Fact]
    public void Samples_that_are_not_numbers()
    {
        float[] samples = Take.Groove().Samples(11);
        samples[100000] = float.NaN;
        Assert.Contains("not numbers", Reason(samples), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(5, 5)]
    [InlineData(6, 5)]
    [InlineData(100, 120)]
    public void A_passage_that_is_none(double from, double to) =>
        Assert.Contains("passage", Reason(Take.Groove().Samples(11), (AudioTime.FromSeconds(from), AudioTime.FromSeconds(to))), StringComparison.Ordinal);

    [Fact]
    public void Another_rate_is_the_callers_mistake()
    {
        using MonoSound sound = MonoSound.FromSamples(new float[48000], 48000);
        Assert.Throws<ArgumentException>(() => new SignalListener().Listen(sound));
    }

    [Fact]
    public void Sound_cut_off_at_full_scale_is_a_doubt()
    {
        float[] samples = [.. Take.Groove().Samples(11, gain: 20).Select(sample => Math.Clamp(sample, -1, 1))];
        Assert.Contains(Take.Heard(samples).Doubts, doubt => doubt is ClippedSound);
        Assert.DoesNotContain(Take.Groove().Heard(11, gain: 0.3f).Doubts, doubt => doubt is ClippedSound);
    }

    [Fact]
    public void A_recording_without_highs_is_a_doubt()
    {
        // What an 8 kHz recording holds after resampling: nothing above 4 kHz.
        float[] samples = Take.Groove().Samples(11, noise: 0);
        float[] kept = new float[samples.Length];
        const int Reach = 64;
        for (int i = Reach; i < samples.Length - Reach; i++)
        {
            double sum = 0;
            for (int k = -Reach; k <= Reach; k++)
                sum += samples[i + k] * (k == 0 ? 8000.0 / 44100 : Math.Sin(2 * Math.PI * 4000 * k / 44100) / (Math.PI * k)) * (0.5 + (0.5 * Math.Cos(Math.PI * k / (Reach + 1))));
            kept[i] = (float)sum;
        }

        Assert.Contains(Take.Heard(kept).Doubts, doubt => doubt is NoHighRange);
        Assert.DoesNotContain(Take.Heard(samples).Doubts, doubt => doubt is NoHighRange);
    }

    [Fact]
    public void Few_strokes_are_a_doubt() =>
        Assert.Contains(new Take().With(0.5, "kick").With(1, "snare").With(1.5, "kick").With(2, "snare").Heard(3).Doubts, doubt => doubt is FewStrokesHeard);
}
