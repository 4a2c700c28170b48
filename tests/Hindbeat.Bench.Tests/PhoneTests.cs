using Hindbeat.Studies;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>On a phone on the music stand: nothing is wider than the screen, the chart can be read, and playing does not hide it.</summary>
[Collection(OneBrowser.Name)]
public class PhoneTests(BenchInABrowser bench)
{
    private const int Width = 390, Height = 844;

    [SkippableFact]
    public async Task No_page_is_wider_than_the_screen()
    {
        await using Window window = await bench.OpenAsync("", Width, Height);
        await window.Page.Locator("[data-library][data-live]").WaitForAsync();
        Assert.Equal(Width, await window.Page.EvaluateAsync<int>("() => document.documentElement.scrollWidth"));
        await using Window study = await bench.OpenStudyAsync(bench.Whole, width: Width);
        Assert.Equal(Width, await study.Page.EvaluateAsync<int>("() => document.documentElement.scrollWidth"));
        study.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task The_chart_is_large_enough_to_read_and_turned_on_while_it_plays()
    {
        Study study = bench.Whole;
        await using Window window = await bench.OpenAsync($"study/{study.Id}", Width, Height);
        await window.WaitUntilLiveAsync();
        await window.WaitForSoundAsync();
        IPage page = window.Page;
        await page.ClickAsync("[data-understood]");
        // Half of a printed staff of 7 mm (common practice, no source) at 96 dots an inch.
        LocatorBoundingBoxResult[] lines = await Task.WhenAll((await page.Locator("[data-chart] .staff").AllAsync()).Take(5).Select(async line => (await line.BoundingBoxAsync())!));
        Assert.True(lines.Max(line => line.Y) - lines.Min(line => line.Y) > 13, "The staff is too small to read.");
        await page.ClickAsync("[data-play]");
        await page.WaitForFunctionAsync("() => document.querySelector('.chart-frame').scrollLeft > 0", null, new PageWaitForFunctionOptions { Timeout = 20_000 });
        // What the line that stays takes of the screen is little, wherever one reads.
        await page.EvaluateAsync("() => document.querySelector('[data-timeline]').scrollIntoView()");
        LocatorBoundingBoxResult go = (await page.Locator(".go").BoundingBoxAsync())!;
        Assert.Equal(0, go.Y, 1);
        Assert.True(go.Height < 0.1 * Height);
        Assert.True(await page.Locator("[data-play]").EvaluateAsync<bool>("(button) => document.elementFromPoint(button.getBoundingClientRect().x + 9, button.getBoundingClientRect().y + 9) === button"));
        await page.ClickAsync("[data-play]");
        window.AssertQuiet(bench);
    }
}
