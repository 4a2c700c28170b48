using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Tests.Rebuilding;

/// <summary>A kit cut out of a rendered passage whose strokes are known.</summary>
public class OwnKitTests
{
    private static readonly InventedPassage Passage = InventedPassage.Make(4);
    private static readonly FeelReport Feel = FeelAnalysis.Measure(Passage.Performance);
    private static readonly StereoSound Recording = Renderer.Render(
        RebuildPlan.Make(Passage.Performance, Feel, Dials.AsPlayed), HouseKit.Load(), 44100, new RenderOptions { From = AudioTime.Zero });

    private static readonly (Kit Kit, IReadOnlyList<PieceCut> Pieces) Own = OwnKit.Cut(Recording, AudioTime.Zero, Passage.Performance, HouseKit.Load());

    [Fact]
    public void Every_piece_played_is_cut_and_every_other_stands_in()
    {
        foreach (KitPiece piece in Passage.Performance.Hits.Select(hit => hit.Piece).Distinct())
            Assert.All(Own.Kit.StrokesOf(piece), sample => Assert.Equal(SampleOrigin.Recorded, sample.Origin));
        Assert.All(Own.Kit.StrokesOf(KitPiece.China), sample => Assert.Equal(SampleOrigin.StandIn, sample.Origin));
        Assert.Contains("Muldjord", Own.Kit.Attribution, StringComparison.Ordinal);
    }

    [Fact]
    public void A_rebuild_as_played_on_the_own_kit_is_near_the_recording_itself()
    {
        // Against a foreign measure: the share of the recording's energy that a sample-by-sample difference leaves.
        StereoSound again = Renderer.Render(
            RebuildPlan.Make(Passage.Performance, Feel, Dials.AsPlayed), Own.Kit, 44100, new RenderOptions { From = AudioTime.Zero });
        double left = Difference(Recording.Left, again.Left);
        // Two strokes of a drum are noise to one another: a rebuild on other samples would leave about twice the energy (+3 dB).
        Assert.True(left < 0.35, $"{left:0.000} of the energy is left");
    }

    [Fact]
    public void Strokes_that_only_the_kit_sounds_lie_on_the_planned_moment()
    {
        // A snare in silence, onset by the steepest rise of the recording it was cut from.
        KitSample snare = Own.Kit.StrokesOf(KitPiece.Snare)[^1];
        var plan = new[] { new PlannedStroke(AudioTime.FromSeconds(1), KitPiece.Snare, 100) };
        StereoSound once = Renderer.Render(plan, Own.Kit, 44100, new RenderOptions { From = AudioTime.Zero });
        double at = SteepestRise(once.Left, 44100 - 400, 44100 + 800) / 44100.0;
        Assert.Equal(1.0, at, 0.004);
        Assert.Equal(KitPiece.Snare, snare.Piece);
    }

    [Fact]
    public void The_stereo_place_is_the_recordings()
    {
        // The recording has its hats left (power 0.854 : 0.146 by the stage's angle).
        KitSample hat = Own.Kit.StrokesOf(KitPiece.HatClosed).First(sample => sample.Source!.Value.Alone);
        Assert.True(hat.IsStereo);
        Assert.True(Energy(hat.Samples) > 2 * Energy(hat.RightSamples));
    }

    [Fact]
    public void A_mono_recording_makes_a_mono_kit_in_the_middle()
    {
        var mono = new StereoSound(Recording.Left, [.. Recording.Left], 44100);
        Kit kit = OwnKit.Cut(mono, AudioTime.Zero, Passage.Performance, HouseKit.Load()).Kit;
        StereoSound hats = Renderer.Render([new PlannedStroke(AudioTime.FromSeconds(0.2), KitPiece.HatClosed, 90)], kit);
        Assert.Equal(hats.Left, hats.Right);
    }

    [Fact]
    public void A_recording_of_something_else_is_refused() =>
        Assert.Throws<InputException>(() => OwnKit.Cut(Recording, AudioTime.FromSeconds(1000), Passage.Performance, HouseKit.Load()));

    private static double Difference(float[] a, float[] b)
    {
        int n = Math.Min(a.Length, b.Length);
        double ab = 0, aa = 0, bb = 0;
        for (int i = 0; i < n; i++)
        {
            ab += a[i] * b[i];
            aa += a[i] * a[i];
            bb += b[i] * b[i];
        }

        return 1 - (ab * ab / (aa * bb));
    }

    private static double Energy(ReadOnlySpan<float> samples)
    {
        double sum = 0;
        foreach (float sample in samples)
            sum += sample * sample;
        return sum;
    }

    private static int SteepestRise(float[] sound, int from, int to)
    {
        int best = from;
        double most = 0;
        for (int i = from; i < to; i++)
        {
            double rise = Energy(sound.AsSpan(i, 44)) - Energy(sound.AsSpan(i - 44, 44));
            if (rise > most)
                (most, best) = (rise, i);
        }

        return best;
    }
}
