using Hindbeat.Performances;
using Hindbeat.Studies;
using Hindbeat.Takes;
using Hindbeat.Units;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>Every page and state opens without a complaint; the pictures are kept beside the tests (screenshots/) for the eye.</summary>
[Collection(OneBrowser.Name)]
public class LookTests(BenchInABrowser bench)
{
    private static string Folder { get; } = Path.Combine(AppContext.BaseDirectory, "screenshots");

    [SkippableTheory]
    [InlineData("", "library", 1280, ColorScheme.Light)]
    [InlineData("", "library", 1024, ColorScheme.Dark)]
    [InlineData("study/late-tram-home", "study", 1280, ColorScheme.Light)]
    [InlineData("study/late-tram-home", "study", 1280, ColorScheme.Dark)]
    [InlineData("study/late-tram-home", "study", 1024, ColorScheme.Light)]
    [InlineData("study/late-tram-home", "study", 1024, ColorScheme.Dark)]
    public async Task Pages_open_without_a_complaint(string path, string name, int width, ColorScheme paper)
    {
        await using Window window = await bench.OpenAsync(path, width, paper: paper);
        string called = $"{name}-{width}-{paper}";
        if (name == "study")
        {
            await window.WaitUntilLiveAsync();
            await window.WaitForSoundAsync();
            await window.Page.ClickAsync("[data-understood]");
            await window.Page.WaitForTimeoutAsync(200);
        }

        await WholeAsync(window, called);
        ILocator sections = window.Page.Locator("section");
        for (int i = 0; i < await sections.CountAsync(); i++)
            await sections.Nth(i).ScreenshotAsync(new LocatorScreenshotOptions { Path = Path.Combine(Folder, $"{called}-{i}.png") });
        window.AssertQuiet(bench);
    }

    /// <summary>What the study's page looks like while one works in it.</summary>
    [SkippableTheory]
    [InlineData(1280, ColorScheme.Light)]
    [InlineData(1024, ColorScheme.Dark)]
    public async Task States_of_the_study_open_without_a_complaint(int width, ColorScheme paper)
    {
        Study study = bench.Fresh();
        Keep(study);
        await using Window window = await bench.OpenStudyAsync(study, width: width, paper: paper);
        IPage page = window.Page;
        await window.WaitForSoundAsync();
        await page.ClickAsync("[data-understood]");
        string called = $"{width}-{paper}";
        await page.CheckAsync("input[name=look][value=played]");
        await page.Locator("[data-chart] .measure").First.WaitForAsync(new LocatorWaitForOptions { State = WaitForSelectorState.Attached });
        await page.ClickAsync(".typing summary");
        await page.Locator(".open-page").ScreenshotAsync(new LocatorScreenshotOptions { Path = Path.Combine(Folder, $"played-over-{called}.png") });
        await page.ClickAsync("[data-spectrum]");
        await page.ClickAsync("[data-zoom='1']");
        await page.ClickAsync("[data-zoom='1']");
        await page.ClickAsync("[data-loop]");
        await page.WaitForTimeoutAsync(500);
        await page.Locator(".time").ScreenshotAsync(new LocatorScreenshotOptions { Path = Path.Combine(Folder, $"time-close-{called}.png") });
        await page.EvaluateAsync("() => document.activeElement.blur()");
        await page.Keyboard.PressAsync("d");
        await page.Locator("[data-strip]").WaitForAsync();
        await page.ScreenshotAsync(new PageScreenshotOptions { Path = Path.Combine(Folder, $"strip-{called}.png") });
        await page.ClickAsync("[data-let-go]");
        await page.ClickAsync("[data-question=lay-back]");
        await page.ClickAsync("[data-answer=a]");
        await page.Locator("[data-verdict]").WaitForAsync();
        await page.Locator(".ears").ScreenshotAsync(new LocatorScreenshotOptions { Path = Path.Combine(Folder, $"ears-{called}.png") });
        await page.Locator("[data-take-list] button").First.ClickAsync();
        await page.Locator("[data-take]").WaitForAsync();
        await page.Locator("section", new PageLocatorOptions { Has = page.Locator("[data-takes]") }).ScreenshotAsync(new LocatorScreenshotOptions { Path = Path.Combine(Folder, $"take-{called}.png") });
        await page.ClickAsync(".lesson summary");
        await page.Locator(".along").ScreenshotAsync(new LocatorScreenshotOptions { Path = Path.Combine(Folder, $"along-{called}.png") });
        bench.Library.Delete(study.Id);
        window.AssertQuiet(bench);
    }

    /// <summary>A take of the passage four times round, a little slower, the kick with the hats instead of behind them.</summary>
    private void Keep(Study study)
    {
        Performance passage = study.Performance;
        double round = (passage.Pulse.TimeAt(new BarPosition(9, 1, Fraction.Zero)) - passage.Pulse.TimeAt(new BarPosition(1, 1, Fraction.Zero))).Value;
        Hit[] hits = [.. Enumerable.Range(0, 4).SelectMany(turn => passage.Hits.Where(hit => hit.Position is not null && !(turn == 2 && hit.Piece == KitPiece.TomHigh)).Select(hit => hit with
        {
            Time = AudioTime.FromSeconds(1.06 * (hit.Time.TotalSeconds + (turn * round) - (hit.Piece == KitPiece.Kick ? 0.014 : 0))),
            Position = null,
        }))];
        TakeComparisonResult result = TakeComparison.Of(passage, TakeAligner.Align(passage, hits));
        new TakeShelf(bench.Library).Keep(KeptTake.Of(study.Id, "Take 1 over a click", new DateTimeOffset(2026, 1, 6, 18, 0, 0, TimeSpan.Zero), null, null, result));
    }

    [SkippableTheory]
    [InlineData("a4")]
    [InlineData("letter")]
    public async Task Sheets_open_without_a_complaint(string paper)
    {
        await using Window window = await bench.OpenAsync($"study/{bench.Whole.Id}/sheets/{paper}");
        await window.Page.Locator(".sheet svg").First.WaitForAsync();
        await window.Page.EmulateMediaAsync(new PageEmulateMediaOptions { Media = Media.Print });
        await WholeAsync(window, $"sheets-{paper}");
        await window.Page.GotoAsync(new Uri(bench.Address, $"study/{bench.Whole.Id}").ToString());
        await window.Page.Locator("article[data-live] .words").WaitForAsync();
        await WholeAsync(window, $"printed-{paper}");
        window.AssertQuiet(bench);
    }

    private static async Task WholeAsync(Window window, string name) =>
        await window.Page.ScreenshotAsync(new PageScreenshotOptions { Path = Path.Combine(Folder, name + ".png"), FullPage = true });
}
