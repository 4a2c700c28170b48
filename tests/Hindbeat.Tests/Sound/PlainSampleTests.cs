using Hindbeat.Performances;
using Hindbeat.Sound;
using NAudio.Wave;
using static Hindbeat.Tests.Sound.TestSounds;

namespace Hindbeat.Tests.Sound;

/// <summary>
/// WAV and AIFF, sample for sample. The files are written byte by byte by the published layouts; NAudio is the
/// second reader that ours is held against.
/// </summary>
public class PlainSampleTests
{
    private static readonly double[] Values = [0, 0.5, -0.5, 0.25, -1, 127 / 128.0, 1 / 128.0, -1 / 128.0];

    [Theory]
    [InlineData(Width.Int8, false)]
    [InlineData(Width.Int16, false)]
    [InlineData(Width.Int24, false)]
    [InlineData(Width.Int32, false)]
    [InlineData(Width.Float32, false)]
    [InlineData(Width.Float64, false)]
    [InlineData(Width.Int16, true)]
    [InlineData(Width.Int24, true)]
    [InlineData(Width.Float32, true)]
    internal void Wav_of_every_width_comes_back_exactly(Width width, bool extensible)
    {
        using var folder = new Folder();
        string path = folder.Write("a.wav", Wav(Values, 2, 48000, width, extensible));
        using ISoundReader reader = SoundFile.Open(path);
        Assert.Equal(48000, reader.SampleRate);
        Assert.Equal(2, reader.Channels);
        Assert.Empty(reader.Doubts);
        Assert.Equal(Values.Select(v => (float)v), ReadAll(reader));
    }

    [Theory]
    [InlineData(1, null, false)]
    [InlineData(2, null, false)]
    [InlineData(3, null, false)]
    [InlineData(4, null, false)]
    [InlineData(2, null, true)]
    [InlineData(2, "NONE", false)]
    [InlineData(2, "sowt", false)]
    [InlineData(3, "sowt", false)]
    [InlineData(4, "fl32", false)]
    public void Aiff_of_every_width_comes_back_exactly(int bytes, string? scheme, bool soundFirst)
    {
        using var folder = new Folder();
        string path = folder.Write("a.aif", Aiff(Values, 2, 44100, bytes, scheme, soundFirst));
        using ISoundReader reader = SoundFile.Open(path);
        Assert.Equal(44100, reader.SampleRate);
        Assert.Equal(Values.Select(v => (float)v), ReadAll(reader));
    }

    [Theory]
    [InlineData(Width.Int16)]
    [InlineData(Width.Int24)]
    [InlineData(Width.Float32)]
    internal void A_foreign_reader_agrees_on_random_samples(Width width)
    {
        var random = new Random(11);
        double[] samples = [.. Enumerable.Range(0, 3000).Select(_ => (random.NextDouble() * 1.9) - 0.95)];
        using var folder = new Folder();
        string path = folder.Write("a.wav", Wav(samples, 3, 32000, width));
        using var foreign = new WaveFileReader(path);
        ISampleProvider provider = foreign.ToSampleProvider();
        float[] theirs = new float[samples.Length];
        int filled = 0;
        while (filled < theirs.Length)
        {
            int got = provider.Read(theirs.AsSpan(filled));
            Assert.True(got > 0);
            filled += got;
        }

        using ISoundReader reader = SoundFile.Open(path);
        Assert.Equal(theirs, ReadAll(reader));
    }

    [Theory]
    [InlineData(8000, 1)]
    [InlineData(192000, 2)]
    [InlineData(48000, 8)]
    [InlineData(44100, 5)]
    [InlineData(96000, 18)]
    public void Unusual_rates_and_channel_counts_are_read(int rate, int channels)
    {
        double[] samples = [.. Enumerable.Range(0, channels * 1000).Select(i => (i % 200 / 256.0) - 0.25)];
        using var folder = new Folder();
        string path = folder.Write("a.wav", Wav(samples, channels, rate, Width.Float32, true));
        using ISoundReader reader = SoundFile.Open(path);
        Assert.Equal((rate, channels), (reader.SampleRate, reader.Channels));
        Assert.Equal(samples.Select(v => (float)v), ReadAll(reader));
    }

    [Fact]
    public void Unknown_chunks_of_odd_length_are_passed_over()
    {
        byte[] note = [.. "LIST"u8, 5, 0, 0, 0, 1, 2, 3, 4, 5, 0, .. "bext"u8, 2, 0, 0, 0, 9, 9];
        using var folder = new Folder();
        string path = folder.Write("a.wav", Wav(Values, 2, 44100, Width.Int24, before: note));
        using ISoundReader reader = SoundFile.Open(path);
        Assert.Equal(Values.Select(v => (float)v), ReadAll(reader));
    }

    [Fact]
    public void A_file_beyond_4_gigabytes_takes_its_size_from_the_ds64_chunk()
    {
        // EBU Tech 3306: "RF64", 0xFFFFFFFF for both 32-bit sizes, the true ones in ds64. Behind the samples
        // lies another chunk, which must not be played.
        byte[] sizes = [.. "ds64"u8, 28, 0, 0, 0, .. BitConverter.GetBytes(1000L), .. BitConverter.GetBytes(16L), .. BitConverter.GetBytes(4L), 0, 0, 0, 0];
        byte[] file = [.. Wav(Values, 2, 44100, Width.Int16, dataSize: uint.MaxValue, before: sizes), .. "LIST"u8, 4, 0, 0, 0, 1, 2, 3, 4];
        "RF64"u8.CopyTo(file);
        using var folder = new Folder();
        using ISoundReader reader = SoundFile.Open(folder.Write("a.wav", file));
        Assert.Equal(8, ReadAll(reader).Count);
    }

    [Fact]
    public void A_truncated_wav_gives_what_is_there_and_says_so()
    {
        using var folder = new Folder();
        byte[] whole = Wav(Clicks(44100, 100, 30000), 1, 44100, Width.Int24);
        string path = folder.Write("a.wav", whole[..(whole.Length / 2)]);
        using ISoundReader reader = SoundFile.Open(path);
        List<float> samples = ReadAll(reader);
        Assert.InRange(samples.Count, 22000, 22050);
        Assert.Equal(0.5f, samples[100]);
        Doubt doubt = Assert.Single(reader.Doubts);
        Assert.Equal(1.0, Assert.IsType<SoundCutShort>(doubt).PromisedSeconds!.Value, 6);
    }

    [Fact]
    public void A_recorder_that_lost_power_leaves_usable_samples()
    {
        using var folder = new Folder();
        string path = folder.Write("a.wav", Wav(Values, 2, 44100, Width.Int16, dataSize: 0, riffSizeKnown: false));
        using ISoundReader reader = SoundFile.Open(path);
        Assert.Equal(8, ReadAll(reader).Count);
        Assert.Null(Assert.IsType<SoundCutShort>(Assert.Single(reader.Doubts)).PromisedSeconds);
    }

    [Fact]
    public void The_kind_is_told_from_the_content_not_the_name()
    {
        using var folder = new Folder();
        string path = folder.Write("really-aiff.mp3", Aiff(Values, 2, 44100, 2));
        using ISoundReader reader = SoundFile.Open(path);
        Assert.StartsWith("AIFF", reader.Format, StringComparison.Ordinal);
    }

    internal static List<float> ReadAll(ISoundReader reader)
    {
        var all = new List<float>();
        // A prime number of frames, so that pieces fall across every boundary inside the reader.
        float[] buffer = new float[reader.Channels * 997];
        while (reader.Read(buffer) is > 0 and int got)
            all.AddRange(buffer.AsSpan(0, got));
        return all;
    }
}
