using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

[Collection(OneBrowser.Name)]
public class LookTests(BenchInABrowser bench)
{
    /// <summary>Every page opens without a complaint at both widths and on both papers; the pictures are kept beside the tests (screenshots/) for the eye.</summary>
    [SkippableTheory]
    [InlineData("", "library", 1280, ColorScheme.Light)]
    [InlineData("study/late-tram-home", "study", 1280, ColorScheme.Light)]
    [InlineData("study/late-tram-home", "study", 1280, ColorScheme.Dark)]
    [InlineData("study/late-tram-home", "study", 1024, ColorScheme.Light)]
    public async Task Pages_open_without_a_complaint(string path, string name, int width, ColorScheme paper)
    {
        await using Window window = await bench.OpenAsync(path, width, paper: paper);
        if (path.StartsWith("study", StringComparison.Ordinal))
        {
            await window.WaitUntilLiveAsync();
            await window.WaitForSoundAsync();
            await window.Page.ClickAsync("[data-understood]");
            await window.Page.WaitForTimeoutAsync(200);
        }

        string folder = Path.Combine(AppContext.BaseDirectory, "screenshots");
        await window.Page.ScreenshotAsync(new PageScreenshotOptions { Path = Path.Combine(folder, $"{name}-{width}-{paper}.png"), FullPage = true });
        await window.Page.ScreenshotAsync(new PageScreenshotOptions { Path = Path.Combine(folder, $"{name}-{width}-{paper}-first.png"), FullPage = true, Clip = new Clip { Width = width, Height = Math.Min(1330, await window.Page.EvaluateAsync<int>("() => document.documentElement.scrollHeight")) } });
        ILocator sections = window.Page.Locator("section");
        for (int i = 0; i < await sections.CountAsync(); i++)
            await sections.Nth(i).ScreenshotAsync(new LocatorScreenshotOptions { Path = Path.Combine(folder, $"{name}-{width}-{paper}-{i}.png") });
        window.AssertQuiet(bench);
    }
}
