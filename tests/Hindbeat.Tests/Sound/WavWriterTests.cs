using Hindbeat.Sound;
using Hindbeat.Units;
using NAudio.Wave;
using static Hindbeat.Tests.Sound.TestSounds;

namespace Hindbeat.Tests.Sound;

/// <summary>What is written is what a foreign reader reads, and a file is whole or not there.</summary>
public class WavWriterTests
{
    [Fact]
    public void Twenty_four_bits_are_exact_for_a_foreign_reader()
    {
        var random = new Random(1);
        float[] left = [.. Enumerable.Range(0, 10000).Select(_ => random.Next(-8388608, 8388608) / 8388608f)];
        float[] right = [.. left.Reverse()];
        using var folder = new Folder();
        Assert.Equal(0, WavFile.Write(folder.File("a.wav"), new StereoSound(left, right, 48000)));
        using (var foreign = new WaveFileReader(folder.File("a.wav")))
        {
            Assert.Equal((48000, 2, 24), (foreign.WaveFormat.SampleRate, foreign.WaveFormat.Channels, foreign.WaveFormat.BitsPerSample));
            Assert.Equal(10000, foreign.SampleCount);
            float[] read = new float[20000];
            Assert.Equal(20000, foreign.ToSampleProvider().Read(read.AsSpan()));
            Assert.Equal(left, read.Where((_, i) => i % 2 == 0));
            Assert.Equal(right, read.Where((_, i) => i % 2 == 1));
        }

        StereoSound ours = SoundLoader.LoadStereo(folder.File("a.wav"));
        Assert.Equal(left, ours.Left);
        Assert.Single(Directory.GetFiles(folder.Path));
    }

    [Fact]
    public void Sixteen_bits_are_dithered_without_bias_and_the_same_each_time()
    {
        // A level a third of a step high: plain rounding would lose it, dither keeps it in the mean.
        float[] quiet = [.. Enumerable.Repeat(1f / 3 / 32768, 100000)];
        using var first = new MemoryStream();
        using var again = new MemoryStream();
        using var other = new MemoryStream();
        WavFile.Write(first, new StereoSound(quiet, quiet, 44100), 16);
        WavFile.Write(again, new StereoSound(quiet, quiet, 44100), 16);
        WavFile.Write(other, new StereoSound(quiet, quiet, 44100), 16, ditherSeed: 5);
        Assert.Equal(first.ToArray(), again.ToArray());
        Assert.NotEqual(first.ToArray(), other.ToArray());
        using var folder = new Folder();
        StereoSound read = SoundLoader.LoadStereo(folder.Write("a.wav", first.ToArray()));
        Assert.Equal(1.0 / 3, read.Left.Average(x => x * 32768.0), 0.02);
        Assert.True(read.Left.Max(x => Math.Abs(x * 32768)) <= 2);
    }

    [Fact]
    public void What_lies_beyond_full_scale_is_counted()
    {
        using var folder = new Folder();
        Assert.Equal(2, WavFile.Write(folder.File("a.wav"), new StereoSound([1.5f, 0], [-2f, 0.5f], 44100)));
        StereoSound read = SoundLoader.LoadStereo(folder.File("a.wav"));
        Assert.Equal(8388607 / 8388608f, read.Left[0]);
        Assert.Equal(-1f, read.Right[0]);
    }

    [Fact]
    public void An_unfinished_file_never_takes_the_name()
    {
        using var folder = new Folder();
        string path = folder.Write("a.wav", [1, 2, 3]);
        using (WavWriter writer = WavWriter.ToFile(path, 44100))
            writer.Write(new float[100], new float[100]);
        Assert.Equal([1, 2, 3], File.ReadAllBytes(path));
        Assert.Single(Directory.GetFiles(folder.Path));
        Assert.Throws<ArgumentException>(() => WavFile.Write(path, new StereoSound([float.NaN], [0], 44100)));
        Assert.Equal([1, 2, 3], File.ReadAllBytes(path));
        Assert.Single(Directory.GetFiles(folder.Path));
        Assert.Throws<InputException>(() => WavFile.Write(Path.Combine(path, "b.wav"), new StereoSound([0], [0], 44100)));
    }

    [Fact]
    public void Peaks_are_the_lowest_and_highest_of_each_column()
    {
        using MonoSound sound = MonoSound.FromSamples([1, -2, 3, -4, 5, -6, 7]);
        Assert.Equal([(-2f, 1f), (-4f, 3f), (-6f, 7f)], Waveform.Peaks(sound, 3));
        Assert.Equal(14, Waveform.Peaks(sound, 14).Length);
        Assert.Equal((-6f, 7f), Assert.Single(Waveform.Peaks(sound, 1)));
        using MonoSound none = MonoSound.FromSamples([]);
        Assert.Equal([(0f, 0f), (0f, 0f)], Waveform.Peaks(none, 2));
    }
}
