using Hindbeat.Cli;
using Hindbeat.Performances;
using Hindbeat.Sound;

namespace Hindbeat.Tests.Cli;

/// <summary>What a user meets on the command line: exit codes, one-line reasons, nothing half written.</summary>
public sealed class CommandLineTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("hindbeat-cli-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    public static TheoryData<string> BadInputs =>
    [
        "missing.wav", "text.wav", "empty.wav", "header-only.wav", "silence.wav", "one-stroke.wav", "pure-tone.wav", "not-a-number.wav", "melody.mid",
    ];

    [Theory]
    [MemberData(nameof(BadInputs))]
    public async Task Input_that_cannot_be_used_ends_with_1_one_line_and_nothing_saved(string name)
    {
        string path = Path.Combine(_folder, name);
        MakeBadInput(path);
        string library = Path.Combine(_folder, "library");
        string json = Path.Combine(_folder, "study.json");

        (int code, string output, string messages) = await Run("study", path, "--library", library, "--json", json);

        Assert.Equal(1, code);
        Assert.Empty(output);
        string reason = Assert.Single(messages.Split('\n', StringSplitOptions.RemoveEmptyEntries), line => !IsProgress(line));
        Assert.InRange(reason.Length, 20, 300);
        Assert.DoesNotContain("Exception", reason, StringComparison.Ordinal);
        Assert.False(File.Exists(json));
        Assert.False(File.Exists(Path.Combine(library, "library.db")));
        Assert.Empty(Directory.EnumerateFiles(_folder, "*.part"));
    }

    [Theory]
    [InlineData("study")]
    [InlineData("study", "x.wav", "--bpm", "fast")]
    [InlineData("study", "x.wav", "--bpm", "-3")]
    [InlineData("study", "x.wav", "--meter", "4-4")]
    [InlineData("study", "x.wav", "--from", "soon")]
    [InlineData("rebuild", "x", "--out", "y.wav", "--swing", "300")]
    [InlineData("rebuild", "x", "--out", "y.wav", "--count-in", "1.5")]
    [InlineData("rebuild", "x", "--out", "y.wav", "--bars", "1-2")]
    [InlineData("rebuild", "x", "--out", "y.wav", "--set", "--swing", "0")]
    [InlineData("rebuild", "x", "--out", "y.wav", "--slow", "50", "--kit", "own")]
    [InlineData("rebuild", "x", "--out", "y.wav", "--swing-level", "8th")]
    [InlineData("chart", "x")]
    [InlineData("no-such-command")]
    public async Task Wrong_arguments_end_with_2(params string[] args)
    {
        (int code, string output, string messages) = await Run(args);

        Assert.Equal(2, code);
        Assert.Empty(output);
        Assert.NotEmpty(messages);
    }

    [Fact]
    public async Task A_passage_past_the_end_says_how_long_the_recording_is()
    {
        string path = Path.Combine(_folder, "short.wav");
        WriteMono(path, Clicks(3.0, 8), 44100);

        (int code, _, string messages) = await Run("study", path, "--from", "10", "--no-save");

        Assert.Equal(1, code);
        Assert.Contains("only 3.00 s long", messages, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_whole_job_runs_from_study_to_chart_to_rebuild()
    {
        string demo = Path.Combine(_folder, "demo");
        (int code, string output, _) = await Run("demo", "--out", demo);
        Assert.Equal(0, code);
        Assert.Contains("put in", output, StringComparison.Ordinal);

        string library = Path.Combine(_folder, "library");
        (code, string json, string messages) = await Run("study", Path.Combine(demo, "recording.wav"), "--name", "First study", "--library", library, "--json", "-");
        Assert.Equal(0, code);
        Assert.Contains("Saved as", messages, StringComparison.Ordinal);
        StudyDocument document = StudyDocument.Read(new MemoryStream(System.Text.Encoding.UTF8.GetBytes(json)));
        Assert.NotEmpty(document.Hits);

        (code, string listed, _) = await Run("list", "--library", library);
        Assert.Equal(0, code);
        Assert.Contains("First study", listed, StringComparison.Ordinal);

        foreach (string file in new[] { "page.svg", "page.png", "page.musicxml", "page.mid" })
        {
            (code, _, messages) = await Run("chart", "first study", "--library", library, "--out", Path.Combine(_folder, file));
            Assert.True(code == 0, messages);
            Assert.True(new FileInfo(Path.Combine(_folder, file)).Length > 100);
        }

        string wav = Path.Combine(_folder, "straight.wav");
        (code, _, messages) = await Run("rebuild", "First study", "--library", library, "--out", wav, "--swing", "0");
        Assert.True(code == 0, messages);
        using ISoundReader reader = SoundFile.Open(wav);
        Assert.Equal(2, reader.Channels);

        // The recording is listened to again, and what was edited is done again.
        (code, _, messages) = await Run("edit", "First study", "add splash 2.1 @99", "--library", library);
        Assert.True(code == 0, messages);
        (code, string edits, messages) = await Run("edit", "First study", "--listen-again", "--list", "--library", library);
        Assert.True(code == 0, messages);
        Assert.Equal("add splash 2.1 @99", edits.Trim());

        // A document on disk serves as well as the library.
        (code, _, messages) = await Run("chart", Path.Combine(demo, "study.json"), "--out", Path.Combine(_folder, "again.svg"));
        Assert.True(code == 0, messages);
    }

    [Fact]
    public async Task An_unknown_study_is_named()
    {
        (int code, _, string messages) = await Run("chart", "nobody", "--library", Path.Combine(_folder, "library"), "--out", Path.Combine(_folder, "x.svg"));

        Assert.Equal(1, code);
        Assert.Contains("'nobody'", messages, StringComparison.Ordinal);
    }

    private static async Task<(int Code, string Output, string Messages)> Run(params string[] args)
    {
        using var output = new StringWriter();
        using var messages = new StringWriter();
        int code = await CommandLine.RunAsync(args, output, messages);
        return (code, output.ToString(), messages.ToString());
    }

    private static bool IsProgress(string line) =>
        line.Trim() is "reading the sound" or "listening for strokes" or "finding the pulse" or "measuring the feel" or "" || line.StartsWith('\r');

    private static void MakeBadInput(string path)
    {
        const int rate = 44100;
        switch (Path.GetFileNameWithoutExtension(path))
        {
            case "text":
                File.WriteAllText(path, "These are the words of a song, not its sound.\n");
                break;
            case "empty":
                File.WriteAllBytes(path, []);
                break;
            case "header-only":
                WriteMono(path, new float[1000], rate);
                File.WriteAllBytes(path, File.ReadAllBytes(path)[..44]);
                break;
            case "silence":
                WriteMono(path, new float[4 * rate], rate);
                break;
            case "one-stroke":
                WriteMono(path, Clicks(3.0, 1), rate);
                break;
            case "pure-tone":
                var tone = new float[4 * rate];
                for (int i = 0; i < tone.Length; i++)
                    tone[i] = 0.5f * (float)Math.Sin(2 * Math.PI * 440 * i / rate);
                WriteMono(path, tone, rate);
                break;
            case "not-a-number":
                WriteFloatWav(path, [0f, 0.1f, float.NaN, 0.2f]);
                break;
            case "melody":
                WriteMelody(path);
                break;
        }
    }

    /// <summary>Decaying noise bursts, evenly spaced.</summary>
    private static float[] Clicks(double seconds, int count)
    {
        var samples = new float[(int)(seconds * 44100)];
        var random = new Random(1);
        for (int k = 0; k < count; k++)
        {
            int start = (int)((k + 0.5) * samples.Length / count);
            for (int i = 0; i < 8000 && start + i < samples.Length; i++)
                samples[start + i] += (float)((random.NextDouble() - 0.5) * Math.Exp(-i / 1500.0));
        }

        return samples;
    }

    private static void WriteMono(string path, float[] samples, int rate) =>
        WavFile.Write(path, new StereoSound(samples, samples, rate), 16);

    /// <summary>A minimal 32-bit float WAV, so that a sample can be no number.</summary>
    private static void WriteFloatWav(string path, float[] samples)
    {
        using var writer = new BinaryWriter(File.Create(path));
        int bytes = samples.Length * 4;
        writer.Write("RIFF"u8);
        writer.Write(36 + bytes);
        writer.Write("WAVEfmt "u8);
        writer.Write(16);
        writer.Write((short)3);
        writer.Write((short)1);
        writer.Write(44100);
        writer.Write(44100 * 4);
        writer.Write((short)4);
        writer.Write((short)32);
        writer.Write("data"u8);
        writer.Write(bytes);
        foreach (float sample in samples)
            writer.Write(sample);
    }

    /// <summary>A MIDI file of one piano note and no drums.</summary>
    private static void WriteMelody(string path) => File.WriteAllBytes(path,
    [
        (byte)'M', (byte)'T', (byte)'h', (byte)'d', 0, 0, 0, 6, 0, 0, 0, 1, 1, 0xE0,
        (byte)'M', (byte)'T', (byte)'r', (byte)'k', 0, 0, 0, 12,
        0, 0x90, 5, 100, 0x60, 0x80, 5, 0, 0, 0xFF, 0x2F, 0,
    ]);
}
