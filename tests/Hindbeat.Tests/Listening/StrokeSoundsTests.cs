using Hindbeat.Listening;
using Hindbeat.Performances;
using Hindbeat.Sound;

namespace Hindbeat.Tests.Listening;

/// <summary>Strokes that always sound with others, and tones that go on under strokes (invented, no source).</summary>
public class StrokeSoundsTests
{
    private const int Rate = MonoSound.AnalysisRate;
    private const double KickEvery = 0.7 * Rate;

    /// <summary>A kick whose first 3 ms lie at a thirtieth of its peak.</summary>
    private static double Kick(double t) => (t < 0.02 ? 0.03 * Math.Sin(2 * Math.PI * 700 * t) : 0)
        + (t < 0.003 ? 0 : Math.Sin(2 * Math.PI * 70 * (t - 0.003)) * Math.Exp(-(t - 0.003) / 0.05));

    /// <summary>A rim of the snare: loud where the kick begins.</summary>
    private static double Snare(double t) => Math.Sin(2 * Math.PI * 430 * t) * Math.Exp(-t / 0.02);

    private static void Add(float[] samples, double onset, double gain, Func<double, double> stroke)
    {
        for (int n = (int)Math.Ceiling(onset); n < onset + (0.15 * Rate) && n < samples.Length; n++)
            samples[n] += (float)(gain * stroke((n - onset) / Rate));
    }

    /// <summary>Every kick lies up to 8 ms before or after a snare as loud; as many snares lie alone.</summary>
    private static (float[] Samples, List<CurveStroke> Heard, List<double> Kicks) Company()
    {
        Random random = new(6);
        float[] samples = new float[(int)(42 * KickEvery)];
        for (int i = 0; i < samples.Length; i++)
            samples[i] = 0.002f * ((2 * random.NextSingle()) - 1);
        List<CurveStroke> heard = [];
        List<double> kicks = [];
        for (int i = 0; i < 40; i++)
        {
            double kick = ((i + 1) * KickEvery) + random.Next(-300, 300), snare = kick + random.Next(-350, 350), alone = kick + (KickEvery / 2);
            Add(samples, kick, 0.4, Kick);
            Add(samples, snare, 0.4, Snare);
            Add(samples, alone, 0.4, Snare);
            kicks.Add(kick);
            heard.Add(new CurveStroke(KitPiece.Kick, kick + 100 + random.Next(-40, 40), 0.95f, 0.7f, (int)(kick / ListenerPictures.Hop)));
            foreach (double onset in (double[])[snare, alone])
                heard.Add(new CurveStroke(KitPiece.Snare, onset + random.Next(-20, 20), 0.95f, 0.7f, (int)(onset / ListenerPictures.Hop)));
        }

        heard.Sort((a, b) => a.Sample.CompareTo(b.Sample));
        return (samples, heard, kicks);
    }

    [Fact]
    public void Kicks_that_never_sound_alone_are_timed_once_the_snares_are_taken_off()
    {
        (float[] samples, List<CurveStroke> heard, List<double> kicks) = Company();
        using MonoSound sound = MonoSound.FromSamples(samples);
        double[] Errors(StrokeTiming timing) => [.. new StrokePlacer(sound, heard, StrokeBands.MetalHertz, timing).Place(default)
            .Where((_, i) => heard[i].Piece == KitPiece.Kick).Zip(kicks, (placed, kick) => Math.Abs(1000 * (placed - kick) / Rate)).Order()];
        double[] alone = Errors(StrokeTiming.Waveform), together = Errors(StrokeTiming.OwnShapes);
        Assert.True(alone[20] > 1, $"each by itself is right already ({alone[20]:0.00} ms); the test proves nothing");
        Assert.InRange(together[20], 0, 0.6);
        Assert.InRange(together[35], 0, 1);
    }

    [Fact]
    public void A_sound_taken_off_the_others_leaves_its_own_stroke_alone()
    {
        CurveStroke[] strokes = [new(KitPiece.Snare, 10000, 0.95f, 0.5f, 1), new(KitPiece.Kick, 10400, 0.95f, 0.5f, 2)];
        float[] sound = [.. Enumerable.Range(0, AverageSound.Length).Select(i => (float)Math.Sin(0.1 * i))];
        StrokeSounds sounds = new(strokes);
        sounds.Set(0, sound, 9900, 0.5);
        float[] kick = new float[3000], snare = new float[3000];
        for (int i = 0; i < kick.Length; i++)
            kick[i] = snare[i] = i >= 400 && i < 400 + sound.Length ? 0.5f * sound[i - 400] : 0;
        float[] before = [.. snare];
        sounds.TakeOffOthers(1, 9500, kick);
        sounds.TakeOffOthers(0, 9500, snare);
        Assert.All(kick, value => Assert.Equal(0, value, 1e-6f));
        Assert.Equal(before, snare);
    }

    [Fact]
    public void Tones_are_held_on_and_taken_off_and_a_stroke_is_left()
    {
        double[] hertz = [98, 147, 220, 331];
        float[] samples = [.. Enumerable.Range(0, Rate).Select(i => (float)hertz.Sum(h => 0.1 * Math.Sin((2 * Math.PI * h * i / Rate) + h)))];
        float[] struck = [.. samples];
        const int Start = Rate / 2, Onset = 400;
        Add(struck, Start + Onset, 0.2, Snare);
        (double Low, double High) band = StrokeBands.Of(PieceFamily.Kick).Onset;
        BandPass filter = new(band.Low, band.High);
        float[] heard = [.. struck], music = [.. samples];
        filter.Run(heard);
        filter.Run(music);
        using MonoSound sound = MonoSound.FromSamples(struck);
        float[] left = heard[Start..(Start + 1000)];
        new HeldSound(band).TakeOff(sound, Start, left);
        double Power(IEnumerable<float> values) => values.Average(value => (double)value * value);
        Assert.InRange(10 * Math.Log10(Power(left.Take(Onset)) / Power(music.Skip(Start).Take(Onset))), -300, -30);
        double stroke = Power(Enumerable.Range(Onset, 300).Select(i => heard[Start + i] - music[Start + i]));
        double off = Power(Enumerable.Range(Onset, 300).Select(i => left[i] - (heard[Start + i] - music[Start + i])));
        Assert.InRange(10 * Math.Log10(off / stroke), -300, -20);
    }

    [Fact]
    public void Noise_does_not_go_on()
    {
        Random random = new(7);
        float[] samples = [.. Enumerable.Range(0, Rate).Select(_ => 0.2f * ((2 * random.NextSingle()) - 1))];
        (double Low, double High) band = StrokeBands.Of(PieceFamily.Kick).Onset;
        float[] heard = [.. samples];
        new BandPass(band.Low, band.High).Run(heard);
        using MonoSound sound = MonoSound.FromSamples(samples);
        float[] left = heard[(Rate / 2)..((Rate / 2) + 1000)];
        new HeldSound(band).TakeOff(sound, Rate / 2, left);
        double before = heard.Skip(Rate / 2).Take(1000).Sum(value => (double)value * value), after = left.Sum(value => (double)value * value);
        Assert.InRange(10 * Math.Log10(after / before), -6, 3);
    }

    [Fact]
    public void A_band_too_long_is_refused()
    {
        using MonoSound sound = MonoSound.FromSamples(new float[Rate]);
        Assert.Throws<ArgumentOutOfRangeException>(() => new HeldSound((30, 1500)).TakeOff(sound, 1000, new float[HeldSound.Longest + 1]));
    }
}
