using System.Numerics.Tensors;
using CsCheck;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Tests.Rebuilding;

public class RendererTests
{
    public static TheoryData<KitPiece> Pieces => [.. HouseKit.Load().Pieces];

    // Target of the project: onset of rendered strokes against intended ≤ 1 sample. Measured from outside
    // the renderer: the place where the stroke's own sample fits the rendered sound best.
    [Theory]
    [MemberData(nameof(Pieces))]
    public void A_stroke_sounds_when_it_is_planned(KitPiece piece)
    {
        Kit kit = OneStroke(HouseKit.Load(), piece);
        KitSample sample = kit.StrokesOf(piece)[0];
        foreach (double seconds in new[] { 0.25, 0.25 + (0.3 / 44100), 0.25 + (0.5 / 44100), 0.31234567 })
        {
            StereoSound sound = Renderer.Render([Stroke(seconds, piece, 90)], kit);
            Assert.Equal(seconds * 44100, BestFit(sound, sample, seconds * 44100) + sample.Onset, 0.02);
        }
    }

    [Theory]
    [InlineData(22050)]
    [InlineData(48000)]
    [InlineData(96000)]
    public void Other_rates_keep_the_moment(int rate)
    {
        Kit kit = OneStroke(HouseKit.Load(), KitPiece.Snare);
        StereoSound sound = Renderer.Render([Stroke(0.2001, KitPiece.Snare, 110)], kit, rate);
        KitSample sample = kit.AtRate(rate).StrokesOf(KitPiece.Snare)[0];
        Assert.Equal(0.2001 * rate, BestFit(sound, sample, 0.2001 * rate) + sample.Onset, 0.05);
    }

    [Fact]
    public void Versions_are_equally_loud_and_under_the_ceiling()
    {
        InventedPassage passage = InventedPassage.Make(1);
        IReadOnlyList<PlannedStroke> played = [.. passage.Performance.Hits.Select(hit => new PlannedStroke(hit.Time, hit.Piece, hit.Velocity))];
        IReadOnlyList<PlannedStroke> even = [.. played.Select(stroke => stroke with { Velocity = 80 })];
        IReadOnlyList<PlannedStroke> loudKick = [.. played.Select(stroke => stroke.Piece == KitPiece.Kick ? stroke with { Velocity = 127 } : stroke with { Velocity = stroke.Velocity / 3 })];
        foreach (double target in new[] { -23.0, -10.0 })
        {
            IReadOnlyList<StereoSound> versions = Renderer.RenderVersions([played, even, loudKick], HouseKit.Load(), options: new RenderOptions { TargetLufs = target });
            double[] lufs = [.. versions.Select(Loudness.IntegratedLufs)];
            Assert.True(lufs.Max() - lufs.Min() < 0.1, $"{lufs.Min()} to {lufs.Max()} LUFS");
            Assert.All(versions, version => Assert.True(Loudness.TruePeakDbtp(version) <= -1));
            Assert.True(lufs.Max() < target + 0.1);
            Assert.True(lufs.Min() > target - 0.1 || versions.Max(Loudness.TruePeakDbtp) > -1.2, "Turned down further than the ceiling asks.");
        }
    }

    // Versions that are written one by one, at the loudness all of them can have.
    [Fact]
    public void Versions_written_alone_are_equally_loud_too()
    {
        IReadOnlyList<PlannedStroke> played = Played();
        IReadOnlyList<PlannedStroke>[] plans = [played, [.. played.Select(stroke => stroke.Piece == KitPiece.Kick ? stroke with { Velocity = 127 } : stroke with { Velocity = stroke.Velocity / 3 })]];
        double lufs = Renderer.CommonLoudness(plans.Select(plan => (plan, new RenderOptions { TargetLufs = -10 })), HouseKit.Load());
        Assert.True(lufs < -10.5, "Bare drums cannot be so loud under −1 dBTP; the target should have been lowered.");
        foreach (IReadOnlyList<PlannedStroke> plan in plans)
        {
            StereoSound alone = Renderer.Render(plan, HouseKit.Load(), options: new RenderOptions { TargetLufs = lufs });
            Assert.Equal(lufs, Loudness.IntegratedLufs(alone), 0.05);
            Assert.True(Loudness.TruePeakDbtp(alone) <= -1);
        }
    }

    [Fact]
    public void The_same_plan_gives_the_same_bytes_in_memory_and_streamed()
    {
        IReadOnlyList<PlannedStroke> plan = Played();
        StereoSound first = Renderer.Render(plan, HouseKit.Load());
        StereoSound second = Renderer.Render(plan, HouseKit.Load());
        Assert.Equal(first.Left, second.Left);
        Assert.Equal(first.Right, second.Right);
        var streamed = new List<float>();
        long frames = Renderer.Stream(plan, HouseKit.Load(), 44100, (left, _) => streamed.AddRange(left));
        Assert.Equal(first.Left.Length, frames);
        Assert.Equal(first.Left, streamed);
    }

    [Fact]
    public void A_wav_file_holds_the_rendered_sound_and_appears_whole_or_not_at_all()
    {
        string folder = Directory.CreateTempSubdirectory("hindbeat").FullName;
        try
        {
            string path = Path.Combine(folder, "rebuild.wav");
            Seconds length = Renderer.RenderToWav(Played(), HouseKit.Load(), path);
            StereoSound sound = Renderer.Render(Played(), HouseKit.Load());
            StereoSound back = SoundLoader.LoadStereo(path);
            Assert.Equal(sound.Duration, length);
            Assert.Equal((sound.Left.Length, 44100), (back.Left.Length, back.SampleRate));
            for (int i = 0; i < sound.Left.Length; i++)
                Assert.True(Math.Abs(sound.Right[i] - back.Right[i]) < 1.0 / (1 << 23), $"Frame {i}");

            using var cancelled = new CancellationTokenSource();
            cancelled.Cancel();
            Assert.Throws<OperationCanceledException>(() => Renderer.RenderToWav(Played(), HouseKit.Load(), Path.Combine(folder, "other.wav"), cancel: cancelled.Token));
            Assert.Equal([path], Directory.GetFiles(folder));
        }
        finally
        {
            Directory.Delete(folder, true);
        }
    }

    [Fact]
    public void Nothing_clips_and_nothing_is_NaN()
    {
        StereoSound sound = Renderer.Render(Played(), HouseKit.Load());
        Assert.All(sound.Left.Concat(sound.Right), sample => Assert.True(Math.Abs(sample) < 1));
    }

    // A closing hat damps the open one: 30 ms after it, what the open stroke adds is gone.
    [Theory]
    [InlineData(KitPiece.HatClosed)]
    [InlineData(KitPiece.HatPedal)]
    public void A_closing_hat_chokes_the_open_one(KitPiece closing)
    {
        PlannedStroke open = Stroke(0.1, KitPiece.HatOpen, 110);
        PlannedStroke close = Stroke(0.4, closing, 40);
        float[] both = Unleveled([open, close]);
        float[] alone = Unleveled([open]);
        Assert.Equal(Rms(alone, 0.35, 0.39), Rms(both, 0.35, 0.39), 1e-6);
        // The closing stroke itself, played after an open hat that has long rung out.
        float[] closeOnly = Unleveled([open with { Time = AudioTime.FromSeconds(-2) }, close]);
        double added = Rms([.. both.Zip(closeOnly, (a, b) => a - b)], 0.4 + StrokeMixer.ChokeSeconds + 0.001, 0.6);
        Assert.True(added < 1e-5, $"The open hat still sounds at {20 * Math.Log10(added):0} dBFS.");
        Assert.True(Rms(alone, 0.44, 0.6) > 1e-3, "The open hat should ring on when nothing closes it.");
    }

    [Fact]
    public void A_ride_is_not_choked_by_a_hat()
    {
        float[] alone = Unleveled([Stroke(0.1, KitPiece.Ride, 110)]);
        float[] both = Unleveled([Stroke(0.1, KitPiece.Ride, 110), Stroke(0.4, KitPiece.HatClosed, 1)]);
        Assert.Equal(Rms(alone, 0.7, 1.0), Rms(both, 0.7, 1.0), 0.02 * Rms(alone, 0.7, 1.0));
    }

    [Fact]
    public void Hats_stand_left_the_ride_right_and_the_kick_in_the_middle()
    {
        Assert.True(Balance(KitPiece.HatClosed) < -0.3);
        Assert.True(Balance(KitPiece.Ride) > 0.3);
        Assert.Equal(0, Balance(KitPiece.Kick), 1e-6);
    }

    // An hour must not need more memory than a minute. The one thing that grows is the loudness meter's
    // list, a number of 8 bytes per 100 ms, doubled whenever it is full: at most 32 bytes handed out.
    [Fact]
    public void A_long_render_allocates_next_to_nothing_more_than_a_short_one()
    {
        Kit kit = HouseKit.Load();
        long grown = Allocated(kit, 300) - Allocated(kit, 30);
        Assert.True(grown < 270 * 10 * 32, $"{grown} bytes for 270 s more.");
    }

    [Fact]
    public void From_and_to_cut_the_same_sound()
    {
        IReadOnlyList<PlannedStroke> plan = Played();
        var options = new RenderOptions { From = AudioTime.FromSeconds(2), To = AudioTime.FromSeconds(5), TargetLufs = -23 };
        StereoSound cut = Renderer.Render(plan, HouseKit.Load(), 44100, options);
        Assert.Equal(3 * 44100, cut.Left.Length);
        StereoSound whole = Renderer.Render(plan, HouseKit.Load());
        double gain = Rms(cut.Left, 0, 3) / Rms(whole.Left, 2, 5);
        for (int i = 0; i < cut.Left.Length; i += 97)
            Assert.Equal(whole.Left[i + (2 * 44100)] * gain, cut.Left[i], 1e-4);
    }

    [Fact]
    public void What_cannot_be_rendered_says_why()
    {
        Kit kit = HouseKit.Load();
        Assert.Contains("no strokes", Assert.Throws<InputException>(() => Renderer.Render([], kit)).Message, StringComparison.Ordinal);
        Assert.Contains("velocity", Assert.Throws<InputException>(() => Renderer.Render([Stroke(0, KitPiece.Kick, 0)], kit)).Message, StringComparison.Ordinal);
        Assert.Contains("velocity", Assert.Throws<InputException>(() => Renderer.Render([Stroke(0, KitPiece.Kick, double.NaN)], kit)).Message, StringComparison.Ordinal);
        Assert.Contains("rate", Assert.Throws<InputException>(() => Renderer.Render([Stroke(0, KitPiece.Kick, 9)], kit, 44)).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Any_plan_renders_without_clipping() =>
        Gen.Select(Gen.Double[-1, 6], Gen.Int[0, 14], Gen.Double[1, 127]).Array[1, 40].Sample(
            strokes =>
            {
                StereoSound sound = Renderer.Render([.. strokes.Select(stroke => Stroke(stroke.Item1, (KitPiece)stroke.Item2, stroke.Item3))], HouseKit.Load());
                return sound.Left.All(x => Math.Abs(x) < 0.9) && sound.Right.All(x => Math.Abs(x) < 0.9);
            },
            iter: 10);

    private static long Allocated(Kit kit, double seconds)
    {
        PlannedStroke[] plan = [.. Enumerable.Range(0, 240).Select(i => Stroke(i * seconds / 240, (KitPiece)(i % 8), 40 + (i % 60)))];
        long heard = 0;
        Renderer.Stream(plan, kit, 44100, (left, _) => heard += left.Length);
        long before = GC.GetAllocatedBytesForCurrentThread();
        Renderer.Stream(plan, kit, 44100, (left, _) => heard += left.Length);
        Assert.True(heard > 2 * seconds * 44100 * 0.99);
        return GC.GetAllocatedBytesForCurrentThread() - before;
    }

    private static double Balance(KitPiece piece)
    {
        StereoSound sound = Renderer.Render([Stroke(0.1, piece, 100)], HouseKit.Load());
        double left = Rms(sound.Left, 0.1, 0.3);
        double right = Rms(sound.Right, 0.1, 0.3);
        return ((right * right) - (left * left)) / ((right * right) + (left * left));
    }

    private static float[] Unleveled(IReadOnlyList<PlannedStroke> plan)
    {
        var mixer = new StrokeMixer(plan, HouseKit.Load(), 44100, new RenderOptions { From = AudioTime.Zero, To = AudioTime.FromSeconds(2), Seed = 4 });
        var left = new float[mixer.TotalFrames];
        var right = new float[StrokeMixer.BlockFrames];
        for (int done = 0, frames; (frames = mixer.Mix(left.AsSpan(done), right)) > 0; done += frames)
        {
        }

        return left;
    }

    private static IReadOnlyList<PlannedStroke> Played() =>
        [.. InventedPassage.Make(1).Performance.Hits.Select(hit => new PlannedStroke(hit.Time, hit.Piece, hit.Velocity))];

    private static PlannedStroke Stroke(double seconds, KitPiece piece, double velocity) => new(AudioTime.FromSeconds(seconds), piece, velocity);

    private static double Rms(float[] sound, double from, double to) =>
        Math.Sqrt(sound[(int)(from * 44100)..(int)(to * 44100)].Average(x => (double)x * x));

    /// <summary>
    /// The fractional sample of the sound at which a sample fits it best: the top of their
    /// cross-correlation near the expected place, read between samples by a plain sinc, an independent
    /// formula from the renderer's.
    /// </summary>
    private static double BestFit(StereoSound sound, KitSample sample, double expected)
    {
        const int Around = 150;
        const int SincReach = 100;
        ReadOnlySpan<float> x = sample.Samples[..Math.Min(2000, sample.Samples.Length)];
        int from = (int)expected - Around;
        var correlation = new double[(2 * Around) + 1];
        for (int shift = 0; shift < correlation.Length; shift++)
            correlation[shift] = TensorPrimitives.Dot(x, sound.Left.AsSpan(from + shift, x.Length));
        int top = Array.IndexOf(correlation, correlation.Max());
        double place = top;
        double highest = 0;
        for (double at = top - 1; at <= top + 1; at += 0.005)
        {
            double value = 0;
            for (int n = Math.Max(0, top - SincReach); n <= Math.Min(correlation.Length - 1, top + SincReach); n++)
                value += correlation[n] * (Math.Abs(at - n) < 1e-9 ? 1 : Math.Sin(Math.PI * (at - n)) / (Math.PI * (at - n)));
            if (value > highest)
                (highest, place) = (value, at);
        }

        return from + place;
    }

    /// <summary>One layer of a piece, so that the test knows which stroke it hears.</summary>
    private static Kit OneStroke(Kit kit, KitPiece piece) => new("one", "", kit.SampleRate, [kit.StrokesOf(piece)[3]]);
}
