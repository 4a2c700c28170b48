using System.Text;
using Hindbeat.Sound;
using Hindbeat.Units;
using static Hindbeat.Tests.Sound.TestSounds;

namespace Hindbeat.Tests.Sound;

/// <summary>Files that cannot be used: one line each, naming the likely mistake.</summary>
public class BadSoundTests
{
    [Fact]
    public void A_missing_file() => Refused("There is no file", Path.Combine(Path.GetTempPath(), "hindbeat-none", "none.wav"));

    [Fact]
    public void A_folder() => Refused("is a folder", Path.GetTempPath());

    [Fact]
    public void An_empty_file() => Refused("is empty (0 bytes)", "a.wav", []);

    [Theory]
    [InlineData("not sound at all\n")]
    [InlineData("<!DOCTYPE html><html>größer</html>")]
    [InlineData("R")]
    public void Text_named_wav(string text) => Refused("holds text, not sound", "a.wav", Encoding.UTF8.GetBytes(text));

    [Fact]
    public void Text_with_a_byte_order_mark()
    {
        Refused("holds text, not sound", "a.wav", [0xEF, 0xBB, 0xBF, .. "a list"u8]);
        Refused("holds text, not sound", "a.wav", [.. Encoding.Unicode.GetPreamble(), .. Encoding.Unicode.GetBytes("a list")]);
    }

    [Fact]
    public void Text_that_is_cut_inside_a_character() =>
        Refused("holds text, not sound", "a.wav", Encoding.UTF8.GetBytes(new string('é', 5000))[..4999]);

    [Fact]
    public void A_midi_file() => Refused("is a MIDI file, not sound", "a.wav", [.. "MThd"u8, 0, 0, 0, 6, 0, 1, 0, 1, 1, 224]);

    [Theory]
    [InlineData(4)]
    [InlineData(11)]
    [InlineData(20)]
    [InlineData(40)]
    [InlineData(44)]
    public void A_wav_that_ends_in_its_header(int bytes) =>
        Refused("not copied or downloaded to the end", "a.wav", Wav(new double[100], 1, 44100, Width.Int16)[..bytes]);

    [Fact]
    public void A_wav_without_samples()
    {
        Refused("holds no samples", "a.wav", Wav([], 2, 44100, Width.Int16));
        Refused("holds no samples", "a.wav", [.. Wav([], 2, 44100, Width.Int16, riffSizeKnown: true), .. "LIST"u8, 0, 0, 0, 0], fixRiff: true);
    }

    [Fact]
    public void An_aiff_without_samples() => Refused("holds no samples", "a.aiff", Aiff([], 2, 44100, 2));

    [Fact]
    public void An_aiff_cut_in_its_header() => Refused("does not describe its samples", "a.aiff", Aiff(new double[100], 1, 44100, 2)[..20]);

    [Theory]
    [InlineData(22, 0, 0, "0 channels")]
    [InlineData(24, 1, 0, "samples a second")]
    [InlineData(32, 7, 0, "header is damaged")]
    public void Absurd_headers(int at, byte low, byte high, string reason)
    {
        byte[] file = Wav(new double[100], 2, 44100, Width.Int16);
        (file[at], file[at + 1]) = (low, high);
        if (at == 24)
            (file[at + 2], file[at + 3]) = (0, 0);
        Refused(reason, "a.wav", file);
    }

    [Theory]
    [InlineData(double.NaN)]
    [InlineData(double.PositiveInfinity)]
    [InlineData(double.NegativeInfinity)]
    public void A_sample_that_is_not_a_number_is_named(double bad)
    {
        double[] samples = new double[2 * 30000];
        samples[(2 * 22050) + 1] = bad;
        Refused("Sample 22050 of channel 2 (0.500 s) in a.wav is not a number", "a.wav", Wav(samples, 2, 44100, Width.Float32));
    }

    [Fact]
    public void Whole_numbers_written_as_floats_are_named()
    {
        double[] samples = new double[30000];
        samples[4410] = -32768;
        Refused("Sample 4410 of channel 1 (0.100 s) in a.wav is 32768 times full scale", "a.wav", Wav(samples, 1, 44100, Width.Float32));
    }

    [Fact]
    public void A_missing_ffmpeg_says_how_to_get_on()
    {
        using var folder = new Folder();
        string path = folder.Write("a.flac", [.. "fLaC"u8, 0, 0, 0, 34]);
        var e = Assert.Throws<InputException>(() => SoundFile.OpenDecoded(path, "no-such-ffmpeg-here"));
        Assert.Contains("FLAC", e.Message, StringComparison.Ordinal);
        Assert.Contains("install ffmpeg, or convert the file to WAV", e.Message, StringComparison.Ordinal);
    }

    [SkippableTheory]
    [InlineData("a.flac", new byte[] { 0x66, 0x4C, 0x61, 0x43, 0, 0, 0, 34, 1, 2, 3 })]
    [InlineData("a.wav", new byte[] { 0x89, 0x50, 0x4E, 0x47, 1, 2, 3, 0, 0, 0, 200, 201, 202 })]
    [InlineData("a.ogg", new byte[] { 0x4F, 0x67, 0x67, 0x53, 0, 0, 0, 0 })]
    public void Rubbish_is_refused_by_way_of_ffmpeg(string name, byte[] bytes)
    {
        Needs.Ffmpeg();
        Refused("cannot be decoded", name, bytes);
    }

    [SkippableFact]
    public void A_picture_or_a_silent_film_has_no_sound_track()
    {
        Needs.Ffmpeg();
        using var folder = new Folder();
        Needs.Run("ffmpeg", "-v", "error", "-f", "lavfi", "-i", "color=c=black:s=32x32:d=0.2", "-an", folder.File("film.mkv"));
        Refused("holds no sound track", folder.File("film.mkv"));
    }

    [Fact]
    public void Broken_mp3_ogg_and_opus_are_refused()
    {
        Refused("holds no whole frame", "a.mp3", [0xFF, 0xFB, 0x90, 0x64, .. new byte[40]]);
        byte[] page = [.. "OggS"u8, 0, 2, .. new byte[20], 1, 7];
        Refused("headers are damaged", "a.ogg", [.. page, 1, .. "vorbis"u8]);
        Refused("headers are damaged", "a.opus", [.. page, .. "OpusHead"u8, .. new byte[11]]);
    }

    private static void Refused(string reason, string name, byte[] bytes, bool fixRiff = false)
    {
        if (fixRiff)
            BitConverter.GetBytes(bytes.Length - 8).CopyTo(bytes, 4);
        using var folder = new Folder();
        Refused(reason, folder.Write(name, bytes));
        Assert.Single(Directory.GetFiles(folder.Path));
    }

    private static void Refused(string reason, string path)
    {
        var e = Assert.Throws<InputException>(() => SoundLoader.Load(path).Dispose());
        Assert.Contains(reason, e.Message, StringComparison.Ordinal);
        Assert.DoesNotContain('\n', e.Message);
        Assert.Throws<InputException>(() => SoundLoader.LoadStereo(path));
    }
}
