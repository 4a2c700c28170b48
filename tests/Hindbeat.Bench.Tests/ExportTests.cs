using System.IO.Compression;
using System.Net;
using System.Text;
using Hindbeat.Bench.Exports;
using Hindbeat.Performances;
using Hindbeat.Sound;

namespace Hindbeat.Bench.Tests;

/// <summary>What is taken along is what its ending says, read by what reads such files.</summary>
[Collection(OneBrowser.Name)]
public class ExportTests(BenchInABrowser bench)
{
    /// <summary>First bytes: PDF (ISO 32000), Standard MIDI File (RP-001: "MThd"), RIFF/WAVE, XML 1.0, JSON (RFC 8259), RFC 4180 with the engine's own header.</summary>
    [Theory]
    [InlineData("pdf", "%PDF-", ".pdf")]
    [InlineData("musicxml", "<?xml", ".musicxml")]
    [InlineData("written-midi", "MThd", ".mid")]
    [InlineData("played-midi", "MThd", ".mid")]
    [InlineData("wav?swing=0", "RIFF", ".wav")]
    [InlineData("csv", "figure,subject", ".csv")]
    [InlineData("json", "{", ".json")]
    public async Task Each_file_begins_as_its_kind_does_and_is_named_after_the_study(string what, string begins, string ending)
    {
        using var client = new HttpClient { BaseAddress = bench.Address };
        using HttpResponseMessage answer = await client.GetAsync($"export/{bench.Whole.Id}/{what}");
        byte[] bytes = await answer.Content.ReadAsByteArrayAsync();
        Assert.Equal(begins, Encoding.UTF8.GetString(bytes[..begins.Length]));
        string name = answer.Content.Headers.ContentDisposition!.FileNameStar!;
        Assert.StartsWith("Late tram home", name, StringComparison.Ordinal);
        Assert.EndsWith(ending, name, StringComparison.Ordinal);
        Assert.Equal("attachment", answer.Content.Headers.ContentDisposition.DispositionType);
    }

    [Fact]
    public async Task Midi_as_played_and_the_rebuild_hold_the_strokes()
    {
        using var client = new HttpClient { BaseAddress = bench.Address };
        string midi = Path.Combine(bench.Folder, "out.mid"), wav = Path.Combine(bench.Folder, "out.wav");
        await File.WriteAllBytesAsync(midi, await client.GetByteArrayAsync($"export/{bench.Whole.Id}/played-midi"));
        Assert.Equal(bench.Whole.Performance.Hits.Count, KitMidiFile.Read(midi).Hits.Count);
        await File.WriteAllBytesAsync(wav, await client.GetByteArrayAsync($"export/{bench.Whole.Id}/wav?tempo=0"));
        StereoSound sound = SoundLoader.LoadStereo(wav);
        Assert.InRange(sound.Duration.Value, (bench.Whole.To - bench.Whole.From).Value - 2, (bench.Whole.To - bench.Whole.From).Value + 5);
        File.Delete(midi);
        File.Delete(wav);
    }

    [Theory]
    [InlineData("..", "study")]
    [InlineData("a/b\\c:d*?\"<>|e", "a b c d      e")]
    [InlineData("tabs\tand\r\nlines", "tabs and  lines")]
    public void A_study_s_name_makes_a_file_name_that_any_system_takes(string name, string expected) =>
        Assert.Equal(expected, StudyExport.FileName(name));

    [Fact]
    public async Task A_lesson_wants_the_page_s_token_and_holds_the_recording_only_when_that_may_be_passed_on()
    {
        using var client = new HttpClient { BaseAddress = bench.Address };
        string address = $"export/{bench.Whole.Id}/lesson";
        Assert.Equal(HttpStatusCode.Forbidden, (await client.PostAsync(address, Form("zip", []))).StatusCode);
        string token = await client.GetStringAsync("add/token");
        byte[] without = await (await client.PostAsync(address, Form("zip", [new("__RequestVerificationToken", token)]))).Content.ReadAsByteArrayAsync();
        byte[] with = await (await client.PostAsync(address, Form("zip", [new("__RequestVerificationToken", token), new("may", "yes")]))).Content.ReadAsByteArrayAsync();
        string[] Names(byte[] zip)
        {
            using var archive = new ZipArchive(new MemoryStream(zip));
            return [.. archive.Entries.Select(entry => entry.Name)];
        }

        Assert.DoesNotContain(Path.GetFileName(bench.Whole.Source!), Names(without));
        Assert.Single(Names(with).Except(Names(without)), name => name.EndsWith(".wav", StringComparison.OrdinalIgnoreCase));
        Assert.Equal(HttpStatusCode.BadRequest, (await client.PostAsync(address, Form("exe", [new("__RequestVerificationToken", token)]))).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await client.GetAsync($"export/{bench.Whole.Id}/secrets")).StatusCode);
        Assert.Equal(HttpStatusCode.BadRequest, (await client.GetAsync($"export/{bench.Whole.Id}/wav?swing=lots")).StatusCode);
    }

    private static FormUrlEncodedContent Form(string kind, KeyValuePair<string, string>[] more) =>
        new([new("as", kind), new("sections", "Chart"), new("sections", "Figures"), .. more]);
}
