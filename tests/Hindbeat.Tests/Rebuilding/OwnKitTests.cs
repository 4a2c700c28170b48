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
        RebuildPlan.Make(Passage.Performance, Feel, Dials.AsPlayed), SmallerDrums(), 44100, new RenderOptions { From = AudioTime.Zero });

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
        StereoSound onHouse = Renderer.Render(
            RebuildPlan.Make(Passage.Performance, Feel, Dials.AsPlayed), HouseKit.Load(), 44100, new RenderOptions { From = AudioTime.Zero });
        double left = Difference(Recording.Left, again.Left);
        double house = Difference(Recording.Left, onHouse.Left);
        // Two strokes of a drum are noise to one another: a rebuild on other samples leaves more than half of the energy.
        Assert.True(left < 0.35 && left < 0.5 * house, $"{left:0.000} of the energy is left; the house kit leaves {house:0.000}");
    }

    [Fact]
    public void Heard_onsets_that_scatter_are_lined_up_by_the_attacks()
    {
        // Ten like strokes whose heard times are off by known amounts, up to 1.5 ms.
        var sound = new float[10 * 8820];
        var noise = new Random(3);
        double[] off = [0, 30, -44, 66, 12, -66, 25, -15, 50, -58];
        var heard = new double[10];
        for (int i = 0; i < 10; i++)
        {
            heard[i] = (i * 8820) + 1000 + off[i];
            for (int n = 0; n < 4000; n++)
                sound[(i * 8820) + 1000 + n] = (float)(((2 * noise.NextDouble()) - 1) * (1 - Math.Exp(-n / 40.0)) * Math.Exp(-n / 900.0));
        }

        double[] shifts = AttackAlignment.Shifts(sound, heard, 44100);
        double[] left = [.. off.Zip(shifts, (o, s) => o + s)];
        double spread = Math.Sqrt(left.Average(value => value * value) - Math.Pow(left.Average(), 2));
        double before = Math.Sqrt(off.Average(value => value * value) - Math.Pow(off.Average(), 2));
        // Strokes of noise share nothing but their rise, over 40 samples: half of the scatter must go.
        Assert.True(spread < before / 2, $"{spread:0.0} of {before:0.0} samples are left");
    }

    [Fact]
    public void Strokes_that_only_the_kit_sounds_lie_on_the_planned_moment()
    {
        // Each cut snare alone, in a plan that is not the passage's: its steepest rise against the steepest rise of the stroke
        // that it was cut from, whose onset is known. Half a millisecond is what the attacks can be told apart by.
        foreach (KitSample snare in Own.Kit.StrokesOf(KitPiece.Snare).Where(sample => sample.Source!.Value.Alone))
        {
            var one = new Kit("one", string.Empty, 44100, [snare]);
            StereoSound once = Renderer.Render([new PlannedStroke(AudioTime.FromSeconds(1), KitPiece.Snare, 100)], one, 44100, new RenderOptions { From = AudioTime.Zero });
            int source = (int)Math.Round(Passage.Performance.Hits[snare.Source!.Value.Number].Time.TotalSeconds * 44100);
            int inRecording = SteepestRise(Recording.Left, source - 100, source + 400) - source;
            int inRebuild = SteepestRise(once.Left, 44100 - 100, 44100 + 400) - 44100;
            Assert.Equal(inRecording / 44.1, inRebuild / 44.1, 0.5);
        }
    }

    [Fact]
    public void Exact_onsets_are_left_where_they_are()
    {
        foreach (KitPiece piece in new[] { KitPiece.Kick, KitPiece.Snare, KitPiece.HatClosed })
        {
            double[] moved = [.. Own.Kit.StrokesOf(piece).Where(sample => sample.Source is not null).Select(sample =>
                Math.Abs(sample.Onset - 132 - (Passage.Performance.Hits[sample.Source!.Value.Number].Time.TotalSeconds * 44100 % 1)) / 44.1).Order()];
            Assert.True(moved[^1] < 0.5, $"{piece}: moved by {string.Join(" ", moved.Select(ms => ms.ToString("0.00", System.Globalization.CultureInfo.InvariantCulture)))} ms");
        }
    }

    // A stroke without a sound of its own borrows one, but never the one that was just played or that comes next.
    [Fact]
    public void No_two_strokes_running_are_the_same()
    {
        Hit[] hits = [.. Passage.Performance.Hits];
        var thin = new Kit("thin", string.Empty, 44100, Own.Kit.Pieces.SelectMany(Own.Kit.StrokesOf).Where(sample => sample.Source is not { } from || from.Number % 3 == 0));
        foreach (Kit kit in new[] { Own.Kit, thin })
        {
            var chooser = new StrokeChooser(kit, 7);
            var last = new Dictionary<KitPiece, KitSample>();
            for (int i = 0; i < hits.Length; i++)
            {
                KitPiece sounding = kit.StrokesOf(hits[i].Piece)[0].Piece;
                KitSample now = chooser.Choose(i, hits[i].Piece, hits[i].Velocity, Array.FindIndex(hits, i + 1, hit => kit.StrokesOf(hit.Piece)[0].Piece == sounding)).Sample;
                Assert.NotSame(last.GetValueOrDefault(sounding), now);
                last[sounding] = now;
            }
        }
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

    /// <summary>Drums that the house does not have: its own at 1.2 times the speed.</summary>
    private static Kit SmallerDrums() => new("smaller drums", string.Empty, 44100, HouseKit.Load().Pieces.SelectMany(HouseKit.Load().StrokesOf)
        .Select(sample => new KitSample(sample.Piece, sample.Layer, Resampler.Resample(sample.Samples.ToArray(), 44100, 36750), 44100, sample.Onset / 1.2)));

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
