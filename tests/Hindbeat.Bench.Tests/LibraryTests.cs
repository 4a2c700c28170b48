using System.Globalization;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Studies;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>The library: what it lists, how it is searched, how recordings come in and studies go out.</summary>
[Collection(OneBrowser.Name)]
public class LibraryTests(BenchInABrowser bench)
{
    [SkippableFact]
    public async Task The_library_lists_each_study_with_tempo_meter_swing_and_lay_back()
    {
        await using Window window = await bench.OpenAsync("");
        ILocator rows = window.Page.Locator(".contents tbody tr");
        Assert.Equal(bench.Library.List().Count, await rows.CountAsync());
        foreach (StudySummary study in bench.Studies)
        {
            string text = await rows.Filter(new LocatorFilterOptions { HasText = study.Name }).First.InnerTextAsync();
            Assert.Contains(study.Meter, text, StringComparison.Ordinal);
            Assert.Contains(Text($"{study.Bpm:0.0}"), text, StringComparison.Ordinal);
            Assert.Contains(Text($"16ths {study.SwingRatio:0.00}"), text, StringComparison.Ordinal); // The invented passage swings its 16ths.
            Assert.Contains(Signed(study.KickLayBackMs!.Value), text, StringComparison.Ordinal);
        }

        window.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task The_finder_narrows_the_library_and_a_click_opens_the_study()
    {
        await using Window window = await bench.OpenAsync("");
        StudySummary wanted = bench.Studies[0];
        await window.FillWhenLiveAsync("#finder", wanted.Name[..6]);
        ILocator rows = window.Page.Locator(".contents tbody tr");
        await Assertions.Expect(rows).ToHaveCountAsync(bench.Library.List().Count(study => study.Name.Contains(wanted.Name[..6], StringComparison.OrdinalIgnoreCase)));
        await window.Page.GetByRole(AriaRole.Link, new PageGetByRoleOptions { Name = wanted.Name }).ClickAsync();
        await window.WaitUntilLiveAsync();
        Assert.Equal(wanted.Name, await window.Page.Locator("h1").InnerTextAsync());
        window.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task Studies_are_found_by_tag_tempo_swing_and_lay_back()
    {
        Study tagged = bench.Fresh();
        tagged = bench.Library.Change(tagged.Id, study => StudyHistory.Do(study, new Tagged(["brushes"])))!;
        StudySummary summary = bench.Library.List().Single(study => study.Id == tagged.Id);
        await using Window window = await bench.OpenAsync("");
        IPage page = window.Page;
        await page.Locator("[data-library][data-live]").WaitForAsync();
        ILocator rows = page.Locator(".contents tbody tr");
        int all = bench.Library.List().Count;
        await page.FillAsync("#finder", "brush");
        await Assertions.Expect(rows).ToHaveCountAsync(1);
        await Assertions.Expect(rows.First).ToContainTextAsync(tagged.Name);
        foreach ((string field, double inside) in new[] { ("Tempo", summary.Bpm), ("Swing", summary.SwingRatio!.Value), ("Kick or snare", summary.KickLayBackMs!.Value) })
        {
            await page.GetByLabel($"{field} from").FillAsync(Text($"{inside - 0.1:0.##}"));
            await Assertions.Expect(rows).ToHaveCountAsync(1);
            await page.GetByLabel($"{field} from").FillAsync(Text($"{inside + 30:0.##}"));
            await Assertions.Expect(rows).ToHaveCountAsync(0);
            await page.GetByLabel($"{field} from").FillAsync("");
        }

        await page.FillAsync("#finder", "");
        await Assertions.Expect(rows).ToHaveCountAsync(all);
        // A small picture each: as many marks as the mean bar has places.
        Assert.Equal(summary.Picture.Count, await rows.Filter(new LocatorFilterOptions { HasText = tagged.Name }).Locator("svg.mean-bar .mark").CountAsync());
        bench.Library.Delete(tagged.Id);
        window.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task Feels_like_this_one_puts_the_nearest_first()
    {
        // The same bars dead straight: their feel is far from the original's.
        Study straight = bench.Fresh("Straight on purpose");
        var hits = RebuildPlan.Make(straight.Performance, straight.Feel, Dials.AsWritten);
        var performance = new Performances.Performance(straight.Performance.Pulse, straight.Performance.Hits.Zip(hits, (hit, stroke) => hit with { Time = stroke.Time, Velocity = (int)stroke.Velocity }));
        bench.Library.Save(straight with { Performance = performance, Feel = Feel.FeelAnalysis.Measure(performance) });
        await using Window window = await bench.OpenAsync("");
        IPage page = window.Page;
        await page.Locator("[data-library][data-live]").WaitForAsync();
        await page.GetByLabel($"Feels like this: {bench.Whole.Name}").ClickAsync();
        await Assertions.Expect(page.Locator(".finder [role=status]")).ToContainTextAsync("Nearest first");
        string[] names = [.. await page.Locator(".contents tbody th a").AllInnerTextsAsync()];
        Assert.Equal("Straight on purpose", names[^1]);
        Assert.NotEqual("Straight on purpose", names[0]);
        bench.Library.Delete(straight.Id);
        window.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task A_deleted_study_can_be_brought_back()
    {
        Study study = bench.Fresh();
        await using Window window = await bench.OpenAsync("");
        IPage page = window.Page;
        await page.Locator("[data-library][data-live]").WaitForAsync();
        await page.GetByLabel($"Delete {study.Name}").ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Link, new PageGetByRoleOptions { Name = study.Name })).ToHaveCountAsync(0);
        Assert.Null(bench.Library.Load(study.Id));
        // A reload must not lose the way back.
        await page.ReloadAsync();
        await page.Locator("[data-library][data-live]").WaitForAsync();
        await page.ClickAsync(".undo-delete button");
        await Assertions.Expect(page.GetByRole(AriaRole.Link, new PageGetByRoleOptions { Name = study.Name })).ToHaveCountAsync(1);
        Assert.NotNull(bench.Library.Load(study.Id));
        bench.Library.Delete(study.Id);
        window.AssertQuiet(bench);
    }

    /// <summary>From the file in the hand to the open study: sound heard, pulse found, figures there.</summary>
    [SkippableFact]
    public async Task A_recording_dropped_on_the_page_becomes_a_study()
    {
        await using Window window = await bench.OpenAsync("");
        IPage page = window.Page;
        await page.Locator("[data-library][data-live]").WaitForAsync();
        string wav = Convert.ToBase64String(await File.ReadAllBytesAsync(bench.Whole.Source!));
        await page.EvaluateAsync("""
            (base64) => {
              const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
              const transfer = new DataTransfer();
              transfer.items.add(new File([bytes], "dropped take.wav", { type: "audio/wav" }));
              document.dispatchEvent(new DragEvent("dragover", { dataTransfer: transfer, bubbles: true, cancelable: true }));
              document.dispatchEvent(new DragEvent("drop", { dataTransfer: transfer, bubbles: true, cancelable: true }));
            }
            """, wav);
        ILocator added = page.GetByRole(AriaRole.Link, new PageGetByRoleOptions { Name = "dropped take" });
        await added.WaitForAsync(new LocatorWaitForOptions { Timeout = 120_000 });
        StudySummary summary = bench.Library.List().Single(study => study.Name == "dropped take");
        Assert.Equal("dropped take.wav", summary.File);
        Study study = bench.Library.Load(summary.Id)!;
        // Where it lies says nothing of what it was called.
        Assert.Equal(Path.Combine(bench.Folder, "recordings"), Path.GetDirectoryName(study.Source));
        Assert.DoesNotContain("dropped", Path.GetFileName(study.Source)!, StringComparison.Ordinal);
        Assert.Equal(92, summary.Bpm, 2.0); // The invented passage's tempo.
        await added.ClickAsync();
        await window.WaitUntilLiveAsync();
        await window.WaitForSoundAsync();
        bench.Library.Delete(summary.Id);
        window.AssertQuiet(bench);
    }

    /// <summary>Where the server says that it cannot read a file, this browser tries, and sends what it made of it.</summary>
    [SkippableFact]
    public async Task What_the_server_cannot_read_the_browser_decodes()
    {
        await using Window window = await bench.OpenAsync("");
        IPage page = window.Page;
        await page.Locator("[data-library][data-live]").WaitForAsync();
        int sent = 0;
        byte[]? second = null;
        await page.RouteAsync("**/add?*", async route =>
        {
            if (++sent == 1)
            {
                await route.FulfillAsync(new RouteFulfillOptions { Status = 422, Body = "This file cannot be read here." });
                return;
            }

            second = route.Request.PostDataBuffer;
            await route.ContinueAsync();
        });
        await page.SetInputFilesAsync("[data-choose]", new FilePayload { Name = "from a film.m4a", MimeType = "audio/mp4", Buffer = await File.ReadAllBytesAsync(bench.Whole.Source!) });
        await page.GetByRole(AriaRole.Link, new PageGetByRoleOptions { Name = "from a film" }).WaitForAsync(new LocatorWaitForOptions { Timeout = 120_000 });
        Assert.Equal(2, sent);
        Assert.Equal("RIFF"u8.ToArray(), second![..4]);
        StudySummary summary = bench.Library.List().Single(study => study.Name == "from a film");
        Assert.Equal(92, summary.Bpm, 2.0);
        bench.Library.Delete(summary.Id);
    }

    [SkippableFact]
    public async Task Midi_is_chosen_and_studied_without_a_recording()
    {
        using var midi = new MemoryStream();
        Charting.ChartMidi.WriteAsPlayed(bench.Whole.Performance, midi);
        await using Window window = await bench.OpenAsync("");
        IPage page = window.Page;
        await page.Locator("[data-library][data-live]").WaitForAsync();
        await page.SetInputFilesAsync("[data-choose]", new FilePayload { Name = "pads.mid", MimeType = "audio/midi", Buffer = midi.ToArray() });
        await page.GetByRole(AriaRole.Link, new PageGetByRoleOptions { Name = "pads" }).WaitForAsync(new LocatorWaitForOptions { Timeout = 60_000 });
        StudySummary summary = bench.Library.List().Single(study => study.Name == "pads");
        Assert.Equal(bench.Whole.Performance.Hits.Count, bench.Library.Load(summary.Id)!.Performance.Hits.Count);
        bench.Library.Delete(summary.Id);
        window.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task What_is_no_recording_is_said_in_one_line_and_leaves_nothing()
    {
        string folder = Path.Combine(bench.Folder, "recordings");
        int before = Directory.Exists(folder) ? Directory.GetFiles(folder).Length : 0;
        await using Window window = await bench.OpenAsync("");
        IPage page = window.Page;
        await page.Locator("[data-library][data-live]").WaitForAsync();
        await page.SetInputFilesAsync("[data-choose]", new FilePayload { Name = "notes.wav", MimeType = "audio/wav", Buffer = "not a sound at all"u8.ToArray() });
        ILocator trouble = page.Locator("[data-sending] .trouble");
        await trouble.WaitForAsync();
        Assert.DoesNotContain(bench.Folder, await trouble.InnerTextAsync(), StringComparison.Ordinal);
        Assert.Equal(before, Directory.Exists(folder) ? Directory.GetFiles(folder).Length : 0);
        await page.Locator("[data-sending] button").ClickAsync();
        await Assertions.Expect(page.Locator("[data-sending] li")).ToHaveCountAsync(0);
    }

    [SkippableFact]
    public async Task Listening_can_be_cancelled()
    {
        // Ten minutes of the same bars: long enough that one can change one's mind.
        string path = Path.Combine(bench.Folder, "long.wav");
        StereoSound once = SoundLoader.LoadStereo(bench.Whole.Source!);
        float[] left = [.. Enumerable.Range(0, 25).SelectMany(_ => once.Left)];
        WavFile.Write(path, new StereoSound(left, left, once.SampleRate), bits: 16);
        await using Window window = await bench.OpenAsync("");
        IPage page = window.Page;
        await page.Locator("[data-library][data-live]").WaitForAsync();
        await page.SetInputFilesAsync("[data-choose]", path);
        await page.Locator("[data-jobs] progress").WaitForAsync(new LocatorWaitForOptions { Timeout = 60_000 });
        await page.Locator("[data-jobs] button").ClickAsync();
        await Assertions.Expect(page.Locator("[data-jobs] li")).ToHaveCountAsync(0);
        await page.WaitForTimeoutAsync(500);
        Assert.DoesNotContain(bench.Library.List(), study => study.Name == "long");
        File.Delete(path);
    }

    private static string Signed(double ms) => ms.ToString("+0.0;\u22120.0;0.0", CultureInfo.InvariantCulture);

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
