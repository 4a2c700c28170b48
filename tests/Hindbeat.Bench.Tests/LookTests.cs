using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

[Collection(OneBrowser.Name)]
public class LookTests(BenchInABrowser bench)
{
    /// <summary>Pictures for the eye: written only when HINDBEAT_SCREENSHOTS names a folder.</summary>
    [SkippableTheory]
    [InlineData("", "library", 1280, ColorScheme.Light)]
    [InlineData("study/evening-shuffle", "study", 1280, ColorScheme.Light)]
    [InlineData("study/evening-shuffle", "study", 1280, ColorScheme.Dark)]
    [InlineData("study/evening-shuffle", "study", 1024, ColorScheme.Light)]
    public async Task Screenshots(string path, string name, int width, ColorScheme paper)
    {
        string? folder = Environment.GetEnvironmentVariable("HINDBEAT_SCREENSHOTS");
        Skip.If(folder is null, "HINDBEAT_SCREENSHOTS names no folder.");
        await using Window window = await bench.OpenAsync(path, width, paper: paper);
        if (path.StartsWith("study", StringComparison.Ordinal))
        {
            await window.WaitUntilLiveAsync();
            await window.Page.Locator("svg.wave").WaitForAsync();
        }

        await window.Page.ScreenshotAsync(new PageScreenshotOptions { Path = Path.Combine(folder!, $"{name}-{width}-{paper}.png"), FullPage = true });
        Assert.Empty(window.Complaints);
        Assert.Empty(bench.Problems);
    }
}
