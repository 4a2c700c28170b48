using Hindbeat.Listening;
using Hindbeat.Performances;
using Hindbeat.Sound;

namespace Hindbeat.Tests.Listening;

/// <summary>Strokes with a known first moment (typed in, no source) under noise that hides it in every single one.</summary>
public class StrokePlacerTests
{
    private const int Rate = MonoSound.AnalysisRate;

    /// <summary>
    /// A kick as a room gives it: 3 ms of beater at a thirtieth of the peak (−30 dB), then the drum. Noise lies at −30 dB of the peak: over the beater's first waves in any one stroke.
    /// </summary>
    private static (float[] Samples, CurveStroke[] Heard, double[] Truth) Kicks(int count, int seed)
    {
        Random random = new(seed);
        float[] samples = new float[(count + 2) * Rate / 2];
        for (int i = 0; i < samples.Length; i++)
            samples[i] = 0.05f * ((2 * random.NextSingle()) - 1);
        double[] truth = new double[count];
        CurveStroke[] heard = new CurveStroke[count];
        for (int stroke = 0; stroke < count; stroke++)
        {
            double onset = (0.5 * Rate * (stroke + 1)) + random.Next(-400, 400);
            truth[stroke] = onset;
            for (int n = 0; n < 0.15 * Rate; n++)
            {
                double t = (double)n / Rate;
                double beater = 0.03 * Math.Sin(2 * Math.PI * 700 * t);
                double drum = t < 0.003 ? 0 : Math.Sin(2 * Math.PI * 70 * (t - 0.003)) * Math.Exp(-(t - 0.003) / 0.05);
                samples[(int)onset + n] += (float)(0.9 * (t < 0.02 ? beater + drum : drum));
            }

            // As the network has it: a few milliseconds late and scattered.
            heard[stroke] = new CurveStroke(KitPiece.Kick, onset + 88 + random.Next(-44, 44), 0.95f, 0.7f, (int)(onset / ListenerPictures.Hop));
        }

        return (samples, heard, truth);
    }

    private static double[] ErrorsMs(StrokeTiming timing, int count, int seed = 1)
    {
        (float[] samples, CurveStroke[] heard, double[] truth) = Kicks(count, seed);
        using MonoSound sound = MonoSound.FromSamples(samples);
        double[] placed = new StrokePlacer(sound, heard, StrokeBands.MetalHertz, timing).Place(default);
        return [.. placed.Zip(truth, (a, b) => 1000 * (a - b) / Rate)];
    }

    [Fact]
    public void The_average_of_a_passages_strokes_shows_a_first_moment_that_each_of_them_hides()
    {
        double alone = ErrorsMs(StrokeTiming.Waveform, 48).Order().ElementAt(24);
        double[] shaped = ErrorsMs(StrokeTiming.OwnShapes, 48);
        Assert.True(alone > 1.5, $"the beater shows in single strokes ({alone:0.00} ms); the test needs more noise");
        Assert.InRange(shaped.Order().ElementAt(24), -0.5, 0.5);
        double median = shaped.Order().ElementAt(24);
        Assert.InRange(shaped.Select(error => Math.Abs(error - median)).Order().ElementAt(45), 0, 0.3);
    }

    [Fact]
    public void Too_few_strokes_keep_their_own_times() =>
        Assert.Equal(ErrorsMs(StrokeTiming.Waveform, 5), ErrorsMs(StrokeTiming.OwnShapes, 5));

    [Fact]
    public void Noise_teaches_no_shape_and_moves_nothing_far()
    {
        Random random = new(4);
        float[] samples = [.. Enumerable.Range(0, 20 * Rate).Select(_ => 0.2f * ((2 * random.NextSingle()) - 1))];
        CurveStroke[] heard = [.. Enumerable.Range(1, 30).Select(i => new CurveStroke(KitPiece.HatClosed, i * 0.6 * Rate, 0.9f, 0.5f, i * 60))];
        using MonoSound sound = MonoSound.FromSamples(samples);
        foreach ((double sample, CurveStroke stroke) in new StrokePlacer(sound, heard, StrokeBands.MetalHertz, StrokeTiming.OwnShapes).Place(default).Zip(heard))
            Assert.InRange(sample, stroke.Sample - (0.012 * Rate), stroke.Sample + (0.012 * Rate));
    }

    [Theory]
    [InlineData(30, 300)]
    [InlineData(2500, 20000)]
    public void Four_filters_side_by_side_give_what_one_gives(double low, double high)
    {
        Random random = new(5);
        float[] samples = [.. Enumerable.Range(0, 3001).Select(_ => (2 * random.NextSingle()) - 1)];
        float[] alone = [.. samples];
        new BandPass(low, high).Run(alone);
        float[][] bands = [.. Enumerable.Range(0, 4).Select(_ => new float[2001])];
        double[] energy = new double[2002 * BandBank.Count];
        new BandBank([(100, 200), (low, high), (5000, 20000), (300, 1500)]).Run(samples, 1000, bands[0], bands[1], bands[2], bands[3], energy);
        double sum = 0;
        for (int i = 0; i < 2001; i++)
        {
            Assert.Equal(alone[1000 + i], bands[1][i], 1e-5f);
            Assert.Equal(sum, energy[(i * BandBank.Count) + 1], 1e-4);
            sum += (double)alone[1000 + i] * alone[1000 + i];
        }
    }
}
