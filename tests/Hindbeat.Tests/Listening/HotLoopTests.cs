using Hindbeat.Listening;
using Hindbeat.Performances;
using Hindbeat.Sound;

namespace Hindbeat.Tests.Listening;

/// <summary>What runs for every frame or stroke allocates nothing.</summary>
public class HotLoopTests
{
    private static long Allocated(Action action)
    {
        action();
        long before = GC.GetAllocatedBytesForCurrentThread();
        for (int i = 0; i < 100; i++)
            action();
        return GC.GetAllocatedBytesForCurrentThread() - before;
    }

    [Fact]
    public void Frames_of_band_powers()
    {
        BandPowers.BandFrames frames = new();
        float[] samples = new float[(7 * BandPowers.Hop) + BandPowers.Window];
        float[] power = new float[8 * BandPowers.Bands];
        Assert.Equal(0, Allocated(() => frames.Measure(samples, power)));
    }

    [Fact]
    public void An_onset_refined()
    {
        using MonoSound sound = MonoSound.FromSamples(Take.Groove(1).Samples(4));
        OnsetRefiner refiner = new(10000);
        Assert.Equal(0, Allocated(() => refiner.Refine(sound, 22016, StrokeFamily.Kick)));
    }

    [Fact]
    public void A_stroke_timed_laid_on_its_shape_and_its_level_measured()
    {
        using MonoSound sound = MonoSound.FromSamples(Take.Groove(1).Samples(4));
        StrokeView view = new(StrokeBands.MetalHertz);
        StrokeTimer timer = new();
        ShapeMatcher matcher = new();
        CurveStroke[] strokes = [new(KitPiece.HatClosed, 22000, 0.9f, 0.5f, 50), new(KitPiece.Kick, 22016, 0.9f, 0.5f, 50)];
        view.Look(sound, strokes, 1, wide: true, others: null);
        int at = StrokeView.Half - StrokeShape.Before;
        StrokeShape[] shapes = [new([.. Enumerable.Range(0, 3).Select(band => view.Band(band).Slice(at, StrokeShape.Length).ToArray())], 0, 4)];
        StrokeBands bands = StrokeBands.Of(PieceFamily.Kick);
        StrokePowers measure = new(StrokeBands.MetalHertz);
        double[] powers = new double[StrokePowers.Values];
        MomentParts parts = new();
        LoudnessModel model = ListenerModel.Shipped().Model!.Loudness;
        float[] known = new float[LoudnessFeatures.Known];
        float[] estimates = new float[LoudnessFeatures.Estimates];
        float[] scratch = new float[model.Scratch];
        StrokeSounds others = new(strokes);
        others.Set(0, new float[AverageSound.Length], 21800, 1);
        HeldSound held = new(bands.Onset);
        float[] beginning = new float[HeldSound.Longest];
        Assert.Equal(0, Allocated(() =>
        {
            view.Look(sound, strokes, 1, wide: false, others);
            held.TakeOff(sound, 22016, beginning);
            int onset = timer.Refine(view, strokes, 1);
            matcher.Look(view.Band(0), view.Band(1), view.Band(2), onset, bands);
            matcher.Fit(shapes);
            measure.Measure(sound, view.Start + onset, powers);
            parts.Begin(powers.AsSpan(StrokePowers.Bands, StrokePowers.Bands));
            parts.Add(powers.AsSpan(2 * StrokePowers.Bands, StrokePowers.Bands), 1);
            parts.Solve(powers.AsSpan(0, StrokePowers.Bands), powers.AsSpan(3 * StrokePowers.Bands));
            model.Loudness(PieceFamily.Kick, known, estimates, scratch);
        }));
    }

    [Fact]
    public void Columns_of_the_pictures()
    {
        using MonoSound sound = MonoSound.FromSamples(Take.Groove(1).Samples(4));
        ListenerPictures pictures = new(sound, 0, sound.Length);
        float[] broad = new float[10 * MelPicture.Bands];
        float[] low = new float[10 * MelPicture.Bands];
        Assert.Equal(0, Allocated(() => pictures.Fill(100, 10, broad, low)));
    }

    [Fact]
    public void A_moment_explained()
    {
        PieceTemplates templates = PieceTemplates.Generic();
        Explanation explanation = new();
        float[] strengths = new float[templates.Atoms.Length];
        float[] heard = templates.Atoms[0];
        Assert.Equal(0, Allocated(() =>
        {
            strengths.AsSpan().Fill(0.1f);
            explanation.Solve(templates.Atoms, heard, StrokeDescription.StretchCount, 5, 0.02f, strengths);
        }));
    }

    [Fact]
    public void A_full_scale_sine_has_a_power_of_one_half_in_its_band()
    {
        BandPowers.BandFrames frames = new();
        float[] samples = [.. Enumerable.Range(0, (7 * BandPowers.Hop) + BandPowers.Window).Select(i => (float)Math.Sin(2 * Math.PI * 1000 * i / 44100))];
        float[] power = new float[BandPowers.Bands];
        frames.Measure(samples, power);
        Assert.Equal(0.5, power.Sum(), 0.01);
        Assert.Equal(BandPowers.BandOf(1000), Array.IndexOf(power, power.Max()));
    }
}
