using System.Security.Cryptography;
using Hindbeat.Sound;
using Hindbeat.Units;
using static Hindbeat.Tests.Sound.TestSounds;

namespace Hindbeat.Tests.Sound;

/// <summary>Loading for listening and for playing.</summary>
public class SoundLoaderTests
{
    [Theory]
    [InlineData(8000)]
    [InlineData(44100)]
    [InlineData(48000)]
    [InlineData(192000)]
    public void Facts_and_length_are_those_of_the_file(int rate)
    {
        using var folder = new Folder();
        byte[] bytes = Wav(Interleave(Bursts(rate * 2, rate, rate / 2), new double[rate * 2]), 2, rate, Width.Int24);
        using LoadedSound sound = SoundLoader.Load(folder.Write("take.wav", bytes));
        Assert.Equal(("take.wav", 2.0, rate, 2, "WAV, 24 bit"), (sound.Info.File, sound.Info.Seconds, sound.Info.SampleRate, sound.Info.Channels, sound.Info.Format));
        Assert.Equal(Convert.ToHexStringLower(SHA256.HashData(bytes)), sound.Info.Sha256);
        Assert.Equal(MonoSound.AnalysisRate, sound.Analysis.SampleRate);
        Assert.Equal(2 * MonoSound.AnalysisRate, sound.Analysis.Length);
        Assert.Empty(sound.Info.Doubts);
    }

    [Fact]
    public void Mono_is_the_average_of_the_channels()
    {
        using var folder = new Folder();
        string path = folder.Write("a.wav", Wav([0.5, 0.25, 0, -1, -0.5, 0.5, 1, 1, 1], 3, 44100, Width.Float32));
        using LoadedSound sound = SoundLoader.Load(path);
        float[] mono = new float[5];
        sound.Analysis.Read(-1, mono);
        Assert.Equal([0f, 0.25f, -1f / 3, 1f, 0f], mono, (a, b) => Math.Abs(a - b) < 1e-6f);
    }

    [Fact]
    public void Channels_that_cancel_leave_one_to_listen_to()
    {
        using var folder = new Folder();
        double[] left = Bursts(44100, 44100, 5000, 20000);
        string path = folder.Write("a.wav", Wav(Interleave(left, [.. left.Select(x => -x)]), 2, 44100, Width.Float32));
        using LoadedSound sound = SoundLoader.Load(path);
        Assert.Equal(1, Assert.IsType<ChannelsCancel>(Assert.Single(sound.Info.Doubts)).Channel);
        float[] heard = new float[44100];
        sound.Analysis.Read(0, heard);
        Assert.Equal(left.Select(x => (float)x), heard);
    }

    [Fact]
    public void Silence_is_loaded_without_a_doubt_about_channels()
    {
        using var folder = new Folder();
        using LoadedSound sound = SoundLoader.Load(folder.Write("a.wav", Wav(new double[2000], 2, 44100, Width.Int16)));
        Assert.Empty(sound.Info.Doubts);
    }

    [Fact]
    public void Progress_grows_to_one_and_cancelling_stops()
    {
        using var folder = new Folder();
        string path = folder.Write("a.wav", Wav(new double[400000], 1, 44100, Width.Int16));
        var seen = new Seen();
        SoundLoader.Load(path, seen).Dispose();
        Assert.Equal(1.0, seen.Values[^1]);
        Assert.Equal(seen.Values.Order(), seen.Values);
        using var cancel = new CancellationTokenSource();
        cancel.Cancel();
        Assert.Throws<OperationCanceledException>(() => SoundLoader.Load(path, null, cancel.Token));
    }

    /// <param name="known">How much of the whole it is said that there is: not known; rightly; twice what it is, from the second half on not.</param>
    [Theory]
    [InlineData("no")]
    [InlineData("rightly")]
    [InlineData("wrongly")]
    public void A_long_sound_goes_through_a_file_and_reads_the_same(string known)
    {
        // The same samples with a limit that they exceed: pieces of odd sizes, read across every boundary.
        var random = new Random(2);
        float[] samples = [.. Enumerable.Range(0, 3_000_001).Select(_ => (float)random.NextDouble())];
        using var store = new MonoStore(44100, 1_500_000);
        for (int at = 0; at < samples.Length;)
        {
            int count = Math.Min(random.Next(1, 400_000), samples.Length - at);
            store.Append(samples.AsSpan(at, count));
            at += count;
            double share = (double)at / samples.Length;
            store.Expect(known switch { "no" => 0, "rightly" => share, _ => share < 0.5 ? share / 2 : 1 });
        }

        using MonoSound sound = store.ToSound();
        using MonoSound memory = MonoSound.FromSamples(samples);
        Assert.Equal(samples.Length, sound.Length);
        Parallel.For(0, 8, reader =>
        {
            float[] ours = new float[70_000];
            float[] wanted = new float[70_000];
            for (long start = -50_000; start < samples.Length + 50_000; start += 61_111 + reader)
            {
                sound.Read(start, ours);
                memory.Read(start, wanted);
                Assert.True(ours.AsSpan().SequenceEqual(wanted), $"At {start}.");
            }
        });
        float[] buffer = new float[1000];
        sound.Read(0, buffer);
        long before = GC.GetAllocatedBytesForCurrentThread();
        for (int i = 0; i < 100; i++)
            sound.Read(i * 1000, buffer);
        Assert.Equal(before, GC.GetAllocatedBytesForCurrentThread());
    }

    [Fact]
    public void A_passage_for_playing_has_the_files_own_rate_and_samples()
    {
        using var folder = new Folder();
        double[] left = [.. Enumerable.Range(0, 96000).Select(i => (i % 256 / 256.0) - 0.5)];
        double[] right = [.. left.Select(x => -x / 2)];
        string path = folder.Write("a.wav", Wav(Interleave(left, right), 2, 96000, Width.Int24));
        StereoSound passage = SoundLoader.LoadStereo(path, AudioTime.FromSeconds(0.25), AudioTime.FromSeconds(0.5));
        Assert.Equal((96000, 24000), (passage.SampleRate, passage.Left.Length));
        Assert.Equal(left.Skip(24000).Take(24000).Select(x => (float)x), passage.Left);
        Assert.Equal(right.Skip(24000).Take(24000).Select(x => (float)x), passage.Right);
        Assert.Equal(96000, SoundLoader.LoadStereo(path, null, AudioTime.FromSeconds(99)).Left.Length);
        Assert.Contains("only 1.0 s long", Assert.Throws<InputException>(() => SoundLoader.LoadStereo(path, AudioTime.FromSeconds(2))).Message, StringComparison.Ordinal);
        Assert.Throws<InputException>(() => SoundLoader.LoadStereo(path, AudioTime.FromSeconds(0.5), AudioTime.FromSeconds(0.25)));
    }

    [Fact]
    public void Mono_plays_on_both_sides_and_surround_within_full_scale()
    {
        using var folder = new Folder();
        StereoSound mono = SoundLoader.LoadStereo(folder.Write("m.wav", Wav([0.5, -0.25], 1, 44100, Width.Float32)));
        Assert.Equal(mono.Left, mono.Right);
        Assert.Equal([0.5f, -0.25f], mono.Left);
        for (int channels = 3; channels <= 12; channels++)
        {
            StereoSound all = SoundLoader.LoadStereo(folder.Write("s.wav", Wav([.. Enumerable.Repeat(1.0, channels)], channels, 44100, Width.Float32)));
            Assert.InRange(all.Left[0], 0.9f, 1.00001f);
            Assert.Equal(all.Left[0], all.Right[0], 5);
        }

        // ITU-R BS.775: a centre alone lies 3 dB under a left alone, on both sides alike; the low-frequency channel is silent.
        StereoSound left = SoundLoader.LoadStereo(folder.Write("l.wav", Wav([1, 0, 0, 0, 0, 0], 6, 44100, Width.Float32)));
        StereoSound centre = SoundLoader.LoadStereo(folder.Write("c.wav", Wav([0, 0, 1, 0, 0, 0], 6, 44100, Width.Float32)));
        Assert.Equal(0, left.Right[0]);
        Assert.Equal(0.7071, centre.Left[0] / left.Left[0], 3);
        Assert.Equal(centre.Left[0], centre.Right[0]);
    }

    private sealed class Seen : IProgress<double>
    {
        public List<double> Values { get; } = [];

        public void Report(double value) => Values.Add(value);
    }
}
