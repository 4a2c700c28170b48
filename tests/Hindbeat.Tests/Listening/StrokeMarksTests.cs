using Hindbeat.Listening;
using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Tests.Listening;

/// <summary>How long hats ring, half-open hats, rimshots, flams and drags, each against a sound or strokes made with known ones.</summary>
public class StrokeMarksTests
{
    private const int Rate = MonoSound.AnalysisRate;

    /// <summary>Noise that falls by 20 dB in a known time: amplitude 10^(-t/T).</summary>
    private static float[] Ringing(double seconds, params (double At, double RingMs)[] strokes)
    {
        var random = new Random(3);
        float[] samples = new float[(int)(seconds * Rate)];
        foreach ((double at, double ring) in strokes)
        {
            for (int i = 0; i + (int)(at * Rate) < samples.Length; i++)
            {
                int place = i + (int)(at * Rate);
                double next = strokes.Select(stroke => stroke.At).Where(other => other > at).DefaultIfEmpty(double.MaxValue).Min();
                if (place >= next * Rate)
                    break;
                samples[place] += (float)(0.3 * Math.Pow(10, -i / (ring / 1000 * Rate)) * ((2 * random.NextDouble()) - 1));
            }
        }

        return samples;
    }

    private static Hit Hat(double seconds, KitPiece piece = KitPiece.HatClosed) => new(AudioTime.FromSeconds(seconds), piece, 90, Level.FromDbfs(-20), 1);

    private static BandPowers Powers(float[] samples)
    {
        using MonoSound sound = MonoSound.FromSamples(samples);
        return BandPowers.Of(sound, 0, samples.Length, null, CancellationToken.None);
    }

    [Theory]
    [InlineData(60)]
    [InlineData(120)]
    [InlineData(250)]
    [InlineData(600)]
    public void A_hat_rings_as_long_as_it_was_made_to(double ringMs)
    {
        Seconds?[] rings = HatRing.Measure(Powers(Ringing(2, (0.5, ringMs))), [Hat(0.5)], 10000);
        Assert.InRange(rings[0]!.Value.Milliseconds, ringMs * 0.85, (ringMs * 1.15) + 8);
    }

    [Theory]
    [InlineData(250, 0.85, 1.2)]
    [InlineData(600, 0.75, 1.35)]
    public void Where_the_next_stroke_comes_first_the_fall_is_followed_on(double ringMs, double least, double most)
    {
        Seconds?[] rings = HatRing.Measure(Powers(Ringing(2, (0.5, ringMs), (0.72, 60))), [Hat(0.5, KitPiece.HatOpen), Hat(0.72)], 10000);
        Assert.InRange(rings[0]!.Value.Milliseconds, least * ringMs, most * ringMs);
    }

    [Fact]
    public void Nothing_is_said_under_a_snare_or_in_what_still_rings()
    {
        Hit snare = Hat(0.505, KitPiece.Snare);
        Assert.Null(HatRing.Measure(Powers(Ringing(2, (0.5, 60))), [Hat(0.5), snare], 10000)[0]);
        float[] loud = Ringing(2, (0.3, 2000), (0.7, 60));
        for (int i = (int)(0.7 * Rate); i < loud.Length; i++)
            loud[i] = (0.1f * loud[i]) + (0.2f * loud[i - (int)(0.35 * Rate)]);
        Assert.Null(HatRing.Measure(Powers(loud), [Hat(0.3, KitPiece.HatOpen), Hat(0.7)], 10000)[1]);
    }

    [Fact]
    public void Hats_that_ring_for_a_quarter_of_a_second_are_half_open_and_tight_ones_are_not()
    {
        (double, double)[] strokes = [.. Enumerable.Range(0, 16).Select(i => (0.5 + (0.4 * i), i is >= 8 and < 12 ? 250.0 : 60.0))];
        Hit[] hits = [.. strokes.Select(stroke => Hat(stroke.Item1))];
        Hit[] marked = StrokeMarks.Add(hits, Powers(Ringing(8, strokes)), 10000);
        Assert.Equal([8, 9, 10, 11], Enumerable.Range(0, 16).Where(i => marked[i].Marks.HasFlag(HitMarks.HalfOpen)));
        Assert.All(marked, hit => Assert.NotNull(hit.Ring));
    }

    [Fact]
    public void In_a_long_room_no_closed_hat_passes_for_half_open()
    {
        (double, double)[] strokes = [.. Enumerable.Range(0, 12).Select(i => (0.5 + (0.5 * i), i == 6 ? 250.0 : 190.0))];
        Hit[] marked = StrokeMarks.Add([.. strokes.Select(stroke => Hat(stroke.Item1))], Powers(Ringing(8, strokes)), 10000);
        Assert.DoesNotContain(marked, hit => hit.Marks.HasFlag(HitMarks.HalfOpen));
    }

    /// <summary>The recorded snare of tests/data/strokes; a rimshot is the same stroke with more of its own rim (1 to 2.6 kHz).</summary>
    [Theory]
    [InlineData(1.0, 0)]
    [InlineData(3.0, 4)]
    public void Rimshots_stand_out_among_plain_strokes(double rim, int found)
    {
        float[] plain = Take.Stroke("snare");
        float[] bright = [.. plain];
        float[] band = [.. plain];
        new BandPass(1000, 2600).Run(band);
        for (int i = 0; i < bright.Length; i++)
            bright[i] += (float)((rim - 1) * band[i]);
        var random = new Random(5);
        float[] samples = new float[9 * Rate];
        List<Hit> hits = [];
        for (int stroke = 0; stroke < 12; stroke++)
        {
            double at = 0.5 + (0.6 * stroke);
            double gain = 0.4 * (0.8 + (0.4 * random.NextDouble()));
            float[] source = stroke % 3 == 2 ? bright : plain;
            for (int i = 0; i < source.Length; i++)
                samples[(int)(at * Rate) + i] += (float)gain * source[i];
            hits.Add(new Hit(AudioTime.FromSeconds(at), KitPiece.Snare, 100, Level.FromAmplitude(gain), 1));
        }

        List<int> rims = RimshotFinder.Find(Powers(samples), hits);
        Assert.Equal(found, rims.Count);
        Assert.All(rims, stroke => Assert.Equal(2, stroke % 3));
    }

    [Fact]
    public void A_split_needs_groups_that_stand_clear()
    {
        Assert.Equal(3, RimshotFinder.Split([-14, -13.5, -13, -6, -5.8, -5.5]));
        Assert.Null(RimshotFinder.Split([-14, -13, -12, -11, -10, -9, -8, -7, -6, -5]));
        Assert.Null(RimshotFinder.Split([-14, -13.9, -13.8, -13.7, -13.6, -5]));
        Assert.Null(RimshotFinder.Split([-14, -13, -6]));
    }

    private static Hit Snare(double ms, double dbfs) => new(AudioTime.FromSeconds(1 + (ms / 1000)), KitPiece.Snare, 90, Level.FromDbfs(dbfs), 0.9);

    [Fact]
    public void One_soft_stroke_before_is_a_flam_and_two_are_a_drag()
    {
        Hit flam = Assert.Single(FlamFinder.Merge([Snare(-30, -32), Snare(0, -20)]));
        Assert.Equal(HitMarks.Flam, flam.Marks);
        Hit drag = Assert.Single(FlamFinder.Merge([Snare(-70, -31), Snare(-35, -32), Snare(0, -20)]));
        Assert.Equal(HitMarks.Drag, drag.Marks);
        Assert.Equal(1.0, drag.Time.TotalSeconds, 9);
        // The first grace may be the softer one by itself.
        Assert.Equal(HitMarks.Drag, Assert.Single(FlamFinder.Merge([Snare(-70, -38), Snare(-35, -32), Snare(0, -20)])).Marks);
    }

    [Fact]
    public void A_growing_roll_keeps_its_strokes()
    {
        List<Hit> roll = FlamFinder.Merge([.. Enumerable.Range(0, 7).Select(i => Snare(45 * i, -50 + (5 * i)))]);
        Assert.InRange(roll.Count, 3, 7);
        // Ghosts of a plain groove, a sixteenth at 120 bpm apart, are no graces.
        Assert.Equal(3, FlamFinder.Merge([Snare(0, -34), Snare(125, -34), Snare(250, -20)]).Count);
    }
}
