using System.Diagnostics;
using System.Text.Json;
using Hindbeat.Charting;
using Hindbeat.Cli;
using Hindbeat.Feel;
using Hindbeat.Rebuilding;
using Hindbeat.Studies;

namespace Hindbeat.Tests.Cli;

/// <summary>A folder of a dozen short rendered recordings and MIDI files, studied by the program itself, which is killed in the middle.</summary>
public sealed class FolderStudyTests : IDisposable
{
    private const int Recordings = 4, MidiFiles = 8;

    private readonly string _folder = Directory.CreateTempSubdirectory("hindbeat-folder-").FullName;

    public FolderStudyTests()
    {
        string inner = Directory.CreateDirectory(Path.Combine(Passages, "evening")).FullName;
        for (int i = 0; i < Recordings + MidiFiles; i++)
        {
            InventedPassage passage = InventedPassage.Make((ulong)(i + 1));
            if (i < Recordings)
                Renderer.RenderToWav(RebuildPlan.Make(passage.Performance, FeelAnalysis.Measure(passage.Performance), Dials.AsPlayed), HouseKit.Load(), Path.Combine(i % 2 == 0 ? Passages : inner, $"take {i}.wav"), 44100);
            else
                using (FileStream stream = File.Create(Path.Combine(Passages, $"pad {i}.mid")))
                    ChartMidi.WriteAsPlayed(passage.Performance, stream);
        }

        File.WriteAllText(Path.Combine(Passages, "no sound.wav"), "These are words.");
        File.WriteAllText(Path.Combine(Passages, "list.txt"), "not asked for");
    }

    private string Passages => Path.Combine(_folder, "passages");

    private string Lines => Path.Combine(_folder, "lines.jsonl");

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public async Task Killed_in_the_middle_and_started_again_every_passage_has_one_line_and_one_study()
    {
        KillAfter(lines: 3);
        string[] before = WholeLines();
        Assert.InRange(before.Length, 3, Recordings + MidiFiles - 1);
        // What a kill between two bytes leaves.
        File.AppendAllText(Lines, "{\"file\":\"take 0.w");

        (int code, string messages) = await Run("--workers", "2");
        string[] after = WholeLines();
        Assert.Equal(CommandLine.CannotUse, code);
        Assert.Equal(before, after[..before.Length]);
        Assert.Equal(Recordings + MidiFiles, after.Select(line => Text(line, "file")).Distinct().Count());
        Assert.Equal(Recordings + MidiFiles, after.Length);
        Assert.Single(messages.Split('\n'), line => line.StartsWith("no sound.wav: ", StringComparison.Ordinal));
        Assert.Contains($"{Recordings + MidiFiles - before.Length} studied, {before.Length} had their line already, 1 could not be used", messages, StringComparison.Ordinal);
        StudyLibrary library = StudyLibrary.Open(Path.Combine(_folder, "library"));
        Assert.Equal(after.Select(line => Text(line, "id")).Order(StringComparer.Ordinal), library.List().Select(study => study.Id).Order(StringComparer.Ordinal));

        (_, messages) = await Run();
        Assert.Contains("0 studied", messages, StringComparison.Ordinal);
        Assert.Equal(after, WholeLines());
    }

    [Fact]
    public async Task What_is_wrongly_asked_is_said_in_one_line_and_nothing_is_written()
    {
        Assert.Equal(CommandLine.CannotUse, (await Ask(Passages)).Code);
        Assert.Contains("--bpm", (await Ask(Passages, "--json", Lines, "--bpm", "90")).Messages, StringComparison.Ordinal);
        File.WriteAllText(Lines, "a diary\n");
        Assert.Contains("is no study", (await Ask(Passages, "--json", Lines)).Messages, StringComparison.Ordinal);
        Assert.Equal("a diary\n", File.ReadAllText(Lines));
        Assert.Contains("no recordings", (await Ask(Directory.CreateDirectory(Path.Combine(_folder, "empty")).FullName, "--json", Path.Combine(_folder, "other"))).Messages, StringComparison.Ordinal);
        Assert.Contains("--workers", (await Ask(Path.Combine(Passages, "no sound.wav"), "--workers", "2")).Messages, StringComparison.Ordinal);
    }

    private void KillAfter(int lines)
    {
        var start = new ProcessStartInfo("dotnet") { RedirectStandardError = true, RedirectStandardOutput = true };
        foreach (string argument in new[] { Path.Combine(AppContext.BaseDirectory, "hindbeat.dll"), "study", Passages, "--json", Lines, "--workers", "1", "--library", Path.Combine(_folder, "library") })
            start.ArgumentList.Add(argument);
        using Process process = Process.Start(start)!;
        var patience = Stopwatch.StartNew();
        while (!process.HasExited && patience.Elapsed < TimeSpan.FromMinutes(2) && (!File.Exists(Lines) || WholeLines().Length < lines))
            Thread.Sleep(10);
        process.Kill();
        process.WaitForExit();
    }

    private string[] WholeLines()
    {
        using var stream = new FileStream(Lines, FileMode.Open, FileAccess.Read, FileShare.ReadWrite);
        using var reader = new StreamReader(stream);
        string text = reader.ReadToEnd();
        return text[..(text.LastIndexOf('\n') + 1)].Split('\n', StringSplitOptions.RemoveEmptyEntries);
    }

    private static string Text(string line, string name)
    {
        using JsonDocument json = JsonDocument.Parse(line);
        Assert.Equal("hindbeat-study", json.RootElement.GetProperty("study").GetProperty("format").GetString());
        return json.RootElement.GetProperty(name).GetString()!;
    }

    private Task<(int Code, string Messages)> Run(params string[] more) => Ask([Passages, "--json", Lines, .. more]);

    private async Task<(int Code, string Messages)> Ask(params string[] more)
    {
        var output = new StringWriter();
        var messages = new StringWriter();
        int code = await CommandLine.RunAsync(["study", .. more, "--library", Path.Combine(_folder, "library")], output, messages);
        Assert.Equal("", output.ToString());
        return (code, messages.ToString());
    }
}
