using Hindbeat.Studies;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>One evening's work, from an empty library to what is given away, in one window and without the command line.</summary>
[Collection(OneBrowser.Name)]
public class JourneyTests(BenchInABrowser bench)
{
    [SkippableFact]
    public async Task From_an_empty_library_to_a_lesson()
    {
        string folder = Directory.CreateTempSubdirectory("hindbeat-journey-").FullName;
        var problems = new List<string>();
        await using (BenchServer server = await BenchServer.StartAsync(new BenchSettings { LibraryFolder = folder, OnProblem = problems.Add }))
        {
            await using Window window = await bench.OpenAsync("", server: server.Address, initScript: Ear.InitScript, bypassPolicy: true);
            IPage page = window.Page;
            await page.Locator("[data-library][data-live]").WaitForAsync();
            await Assertions.Expect(page.Locator(".lead")).ToContainTextAsync("No study yet");

            // A recording comes in and is studied.
            await page.SetInputFilesAsync("[data-choose]", bench.Whole.Source!);
            ILocator added = page.GetByRole(AriaRole.Link, new PageGetByRoleOptions { Name = "late tram home" });
            await added.WaitForAsync(new LocatorWaitForOptions { Timeout = 120_000 });
            await added.ClickAsync();
            await window.WaitUntilLiveAsync();
            await window.WaitForSoundAsync();
            StudyLibrary library = StudyLibrary.Open(folder);
            string id = library.List().Single().Id;
            Study Stored() => library.Load(id)!;

            // Its pulse is taken for half as fast, and set right again; a stroke is taken out; the reference is another.
            double bpm = Stored().Performance.Pulse.MeanTempo.Value;
            await page.ClickAsync("[data-halve]");
            await window.WaitForRevisionAsync(1);
            await page.ClickAsync("[data-double]");
            await window.WaitForRevisionAsync(2);
            Assert.Equal(bpm, Stored().Performance.Pulse.MeanTempo.Value, 0.5);
            int strokes = Stored().Performance.Hits.Count;
            await page.EvaluateAsync("() => document.activeElement.blur()");
            await page.Keyboard.PressAsync("ArrowRight");
            await page.Keyboard.PressAsync("Enter");
            await page.Locator("[data-strip]").WaitForAsync();
            await page.ClickAsync("[data-delete]");
            await window.WaitForRevisionAsync(3);
            Assert.Equal(strokes - 1, Stored().Performance.Hits.Count);
            await page.SelectOptionAsync("[data-reference]", "WholeKit");
            await window.WaitForRevisionAsync(4);
            await Assertions.Expect(page.Locator(".words")).ToContainTextAsync("16ths swing");
            await page.CheckAsync("input[name=look][value=played]");
            await Assertions.Expect(page.Locator("[data-chart] .measure").First).ToBeAttachedAsync();

            // Heard as recorded, then as written, without a gap.
            await page.EvaluateAsync("() => document.activeElement.blur()");
            await page.Keyboard.PressAsync("Space");
            Ear ear = await Ear.InAsync(page);
            await page.WaitForTimeoutAsync(500);
            await ear.BeginAsync();
            await page.CheckAsync("input[name=version][value=as-written]");
            await page.WaitForTimeoutAsync(2000);
            Heard heard = await ear.TakeAsync();
            Assert.True(heard.Loudest > 0.003);
            Assert.True(heard.LongestHole(2e-4) < 0.33, $"A hole of {1000 * heard.LongestHole(2e-4):0} ms.");
            await page.EvaluateAsync("() => document.activeElement.blur()");
            await page.Keyboard.PressAsync("Space");

            // An ear is tried.
            await page.ClickAsync("[data-question=swing]");
            await page.ClickAsync("[data-blind=a]");
            await Assertions.Expect(page.Locator("[data-play]")).ToHaveTextAsync("Stop");
            await page.ClickAsync("[data-answer=b]");
            await page.Locator("[data-verdict]").WaitForAsync();
            Assert.Equal(1, library.Answers(id)["swing"].Asked);

            // And it is all taken along.
            IDownload score = await page.RunAndWaitForDownloadAsync(() => page.ClickAsync("[data-export=musicxml]"));
            Assert.Equal("late tram home.musicxml", score.SuggestedFilename);
            Assert.Contains("<score-partwise", await File.ReadAllTextAsync(await score.PathAsync()), StringComparison.Ordinal);
            await page.ClickAsync(".lesson summary");
            await page.FillAsync(".lesson textarea", "Lay the **kick** back.");
            IDownload lesson = await page.RunAndWaitForDownloadAsync(() => page.ClickAsync(".lesson [value=html]"));
            string html = await File.ReadAllTextAsync(await lesson.PathAsync());
            Assert.Contains("<strong>kick</strong>", html, StringComparison.Ordinal);
            Assert.Equal(4, Stored().Changes.Count);
            Assert.Empty(window.Complaints);
        }

        Assert.Empty(problems);
        Directory.Delete(folder, recursive: true);
    }
}
