using System.Globalization;
using Hindbeat.Sound;
using static Hindbeat.Tests.Sound.TestSounds;

namespace Hindbeat.Tests.Sound;

/// <summary>
/// Where clicks come back from compressed files. The encoders are ffmpeg's, so the truth is the WAV that went
/// in, and neither encoder nor container is ours.
/// </summary>
public class CompressedSoundTests
{
    private const int Rate = 44100;

    /// <summary>The first and last strokes lie near the ends, where delay and padding are trimmed.</summary>
    private static readonly int[] Places = [600, 10007, 44100, 61234, 85000];

    [SkippableTheory]
    [InlineData("flac", 0, "-c:a", "flac")]
    [InlineData("ogg", 0, "-c:a", "libvorbis", "-q:a", "8")]
    [InlineData("mp3", 2, "-c:a", "libmp3lame", "-b:a", "192k")]
    [InlineData("mp3", 2, "-c:a", "libmp3lame", "-q:a", "2")]
    [InlineData("m4a", 2, "-c:a", "aac", "-b:a", "192k")]
    [InlineData("m4a", 0, "-c:a", "alac")]
    [InlineData("mkv", 0, "-c:a", "pcm_s24le")]
    public void Strokes_lie_where_they_were_put(string extension, int tolerance, params string[] encoder)
    {
        using var folder = new Folder();
        double[] truth = Bursts(88200, Rate, Places);
        string path = Encode(folder, truth, 2, extension, encoder);
        using ISoundReader reader = SoundFile.Open(path);
        Assert.Equal(Rate, reader.SampleRate);
        Assert.Empty(reader.Doubts);
        float[] left = Channel(PlainSampleTests.ReadAll(reader), reader.Channels, 0);
        AssertPlaces(left, truth, Places, tolerance);
        if (tolerance == 0)
            Assert.Equal(truth.Length, left.Length);
    }

    [SkippableTheory]
    [InlineData(1)]
    [InlineData(2)]
    public void Opus_strokes_lie_where_they_were_put(int channels)
    {
        using var folder = new Folder();
        int[] places = [600, 10007, 48000, 61234, 93000];
        double[] truth = Bursts(96000, 48000, places);
        string path = Encode(folder, truth, channels, "opus", ["-c:a", "libopus", "-b:a", "160k"], 48000);
        using ISoundReader reader = SoundFile.Open(path);
        Assert.Equal((48000, channels), (reader.SampleRate, reader.Channels));
        float[] left = Channel(PlainSampleTests.ReadAll(reader), channels, 0);
        Assert.Empty(reader.Doubts);
        Assert.Equal(truth.Length, left.Length);
        AssertPlaces(left, truth, places, 2);
    }

    [SkippableTheory]
    [InlineData("opus", "libopus", 48000)]
    [InlineData("ogg", "libvorbis", 44100)]
    [InlineData("flac", "flac", 44100)]
    public void Surround_keeps_its_channels_in_the_order_of_wav(string extension, string codec, int rate)
    {
        // A tone on one channel at a time: channel c sounds during part c. The low-frequency channel of 5.1 is
        // left out of the comparison, since coders cut its treble away.
        using var folder = new Folder();
        double[][] channels = [.. Enumerable.Range(0, 6).Select(c => Enumerable.Range(0, 6 * 8000)
            .Select(i => i / 8000 == c ? 0.5 * Math.Sin(2 * Math.PI * 440 * i / rate) : 0).ToArray())];
        folder.Write("in.wav", Wav(Interleave(channels), 6, rate, Width.Int16));
        Needs.Ffmpeg();
        Needs.Run("ffmpeg", "-v", "error", "-channel_layout", "5.1", "-i", folder.File("in.wav"), "-c:a", codec, "-b:a", "512k", folder.File($"out.{extension}"));
        using ISoundReader reader = SoundFile.Open(folder.File($"out.{extension}"));
        List<float> all = PlainSampleTests.ReadAll(reader);
        foreach (int part in new[] { 0, 1, 2, 4, 5 })
        {
            double[] energy = [.. Enumerable.Range(0, 6).Select(c => Channel(all, 6, c).Skip((part * 8000) + 2000).Take(4000).Sum(x => (double)x * x))];
            Assert.Equal(part, Array.IndexOf(energy, energy.Max()));
        }
    }

    [SkippableFact]
    public void An_mp3_without_its_delay_says_that_its_offset_is_unknown()
    {
        using var folder = new Folder();
        string path = Encode(folder, Bursts(88200, Rate, Places), 2, "mp3", ["-c:a", "libmp3lame", "-b:a", "192k", "-write_xing", "0"]);
        using ISoundReader reader = SoundFile.Open(path);
        Assert.IsType<EncoderDelayUnknown>(Assert.Single(reader.Doubts));
        // Untrimmed, and so late by LAME's 576 and the decoder's 529: the distances are right all the same.
        float[] left = Channel(PlainSampleTests.ReadAll(reader), 2, 0);
        int[] late = [.. Places.Select(place => place + 576 + 529)];
        AssertPlaces(left, Bursts(95000, Rate, late), late, 2);
    }

    [SkippableTheory]
    [InlineData("22050")]
    [InlineData("48000")]
    public void Mp3_of_other_rates_is_trimmed_too(string rate)
    {
        // 22.05 kHz is MPEG-2 with frames of 576 samples.
        using var folder = new Folder();
        int hertz = int.Parse(rate, CultureInfo.InvariantCulture);
        double[] truth = Bursts(60000, hertz, 600, 20000, 55000);
        string path = Encode(folder, truth, 1, "mp3", ["-c:a", "libmp3lame", "-b:a", "96k"], hertz);
        using ISoundReader reader = SoundFile.Open(path);
        AssertPlaces([.. PlainSampleTests.ReadAll(reader)], truth, [600, 20000, 55000], 2);
    }

    [SkippableFact]
    public void An_mp3_behind_a_large_picture_tag_is_found()
    {
        using var folder = new Folder();
        string plain = Encode(folder, Bursts(88200, Rate, Places), 2, "mp3", ["-c:a", "libmp3lame", "-b:a", "192k", "-id3v2_version", "0"]);
        // ID3v2.3, 100,000 bytes of padding; the size is written seven bits a byte.
        byte[] tag = [.. "ID3"u8, 3, 0, 0, 0, 100000 >> 14, (100000 >> 7) & 0x7F, 100000 & 0x7F, .. new byte[100000]];
        string path = folder.Write("tagged.mp3", [.. tag, .. File.ReadAllBytes(plain)]);
        using ISoundReader reader = SoundFile.Open(path);
        Assert.Empty(reader.Doubts);
        AssertPlaces(Channel(PlainSampleTests.ReadAll(reader), 2, 0), Bursts(88200, Rate, Places), Places, 2);
    }

    [SkippableTheory]
    [InlineData("mp3", "libmp3lame")]
    [InlineData("opus", "libopus")]
    [InlineData("flac", "flac")]
    [InlineData("ogg", "libvorbis")]
    public void A_file_cut_in_half_gives_its_first_half(string extension, string codec)
    {
        using var folder = new Folder();
        var random = new Random(5);
        double[] noise = [.. Enumerable.Range(0, 480000).Select(_ => random.NextDouble() - 0.5)];
        string whole = Encode(folder, noise, 1, extension, ["-c:a", codec], 48000);
        byte[] bytes = File.ReadAllBytes(whole);
        string path = folder.Write($"half.{extension}", bytes[..(bytes.Length / 2)]);
        using LoadedSound sound = SoundLoader.Load(path);
        Assert.InRange(sound.Info.Seconds, 3.5, 6.5);
        if (extension != "ogg")
            Assert.Contains(sound.Info.Doubts, doubt => doubt is SoundCutShort or SoundDamaged);
    }

    [SkippableFact]
    public void A_damaged_opus_page_is_dropped_and_told()
    {
        using var folder = new Folder();
        string whole = Encode(folder, Bursts(480000, 48000, 1000, 200000, 400000), 1, "opus", ["-c:a", "libopus", "-page_duration", "200000"], 48000);
        byte[] bytes = File.ReadAllBytes(whole);
        bytes[bytes.Length / 2] ^= 0x55;
        using LoadedSound sound = SoundLoader.Load(folder.Write("bad.opus", bytes));
        Assert.Contains(sound.Info.Doubts, doubt => doubt is SoundDamaged);
        Assert.InRange(sound.Info.Seconds, 9.0, 10.0);
    }

    [SkippableFact]
    public void A_file_name_is_never_an_option_or_a_protocol()
    {
        Needs.Ffmpeg();
        using var folder = new Folder();
        string plain = Encode(folder, Bursts(44100, Rate, 1000), 1, "flac", ["-c:a", "flac"]);
        foreach (string name in new[] { "-y.flac", "a\" -y \"b.flac", "concat:x.flac", "http:x.flac", "é %d.flac" })
        {
            string path = folder.File(name);
            File.Copy(plain, path);
            using LoadedSound sound = SoundLoader.Load(path);
            Assert.Equal(1.0, sound.Info.Seconds, 6);
        }
    }

    private static string Encode(Folder folder, double[] mono, int channels, string extension, string[] encoder, int rate = Rate)
    {
        Needs.Ffmpeg();
        string source = folder.Write($"truth-{extension}.wav", Wav(Interleave([.. Enumerable.Repeat(mono, channels)]), channels, rate, Width.Int16));
        string path = folder.File($"coded.{extension}");
        Needs.Run("ffmpeg", ["-v", "error", "-i", source, .. encoder, path]);
        return path;
    }

    internal static float[] Channel(IReadOnlyList<float> interleaved, int channels, int channel) =>
        [.. Enumerable.Range(0, interleaved.Count / channels).Select(i => interleaved[(i * channels) + channel])];

    /// <summary>The lag at which each burst fits the truth best, found by correlation.</summary>
    private static void AssertPlaces(float[] sound, double[] truth, int[] places, int tolerance)
    {
        foreach (int place in places)
        {
            double best = double.NegativeInfinity;
            int bestLag = int.MinValue;
            for (int lag = -100; lag <= 100; lag++)
            {
                double sum = 0;
                for (int i = place; i < place + 600 && i < truth.Length; i++)
                {
                    if (i + lag >= 0 && i + lag < sound.Length)
                        sum += truth[i] * sound[i + lag];
                }

                if (sum > best)
                    (best, bestLag) = (sum, lag);
            }

            Assert.True(Math.Abs(bestLag) <= tolerance, $"The stroke at {place} came back {bestLag} samples late.");
        }
    }
}
