using Deque.AxeCore.Commons;
using Deque.AxeCore.Playwright;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>axe-core's rules for WCAG 2.2 A and AA find nothing serious or critical, on light and dark paper.</summary>
[Collection(OneBrowser.Name)]
public class AccessibilityTests(BenchInABrowser bench)
{
    [SkippableTheory]
    [InlineData(true, ColorScheme.Light)]
    [InlineData(true, ColorScheme.Dark)]
    [InlineData(false, ColorScheme.Light)]
    public async Task Nothing_serious(bool study, ColorScheme paper)
    {
        await using Window window = study
            ? await bench.OpenAsync($"study/{bench.Whole.Id}", 1024, paper: paper)
            : await bench.OpenAsync("", paper: paper);
        if (study)
        {
            await window.WaitUntilLiveAsync();
            foreach (ILocator summary in await window.Page.Locator("summary").AllAsync())
                await summary.ClickAsync();
        }

        // The paper changes colours and nothing else: on the second, the rules that look at colours are asked again.
        string[] findings = await SeriousAsync(window.Page, paper == ColorScheme.Light ? null : ["color-contrast", "link-in-text-block"]);
        Assert.True(findings.Length == 0, string.Join(Environment.NewLine, findings));
    }

    /// <param name="rules">Null = all. What passes is not written out: on a page of some thousand notes that took three quarters of the time.</param>
    internal static async Task<string[]> SeriousAsync(IPage page, string[]? rules = null)
    {
        var options = new AxeRunOptions { ResultTypes = [ResultType.Violations], RunOnly = rules is null ? null : RunOnlyOptions.Rules(rules) };
        AxeResult result = await page.RunAxe(options);
        Assert.NotEmpty(result.Passes);
        return [.. result.Violations.Where(found => found.Impact is "serious" or "critical")
            .Select(found => $"{found.Id}: {found.Help} ({string.Join(", ", found.Nodes.Take(3).Select(node => node.Html))})")];
    }

    [SkippableTheory]
    [InlineData(1280)]
    [InlineData(1024)]
    public async Task Nothing_runs_off_the_page_and_controls_are_large_enough(int width)
    {
        await using Window window = await bench.OpenAsync($"study/{bench.Whole.Id}", width);
        await window.WaitUntilLiveAsync();
        Assert.Equal(width, await window.Page.EvaluateAsync<int>("() => document.documentElement.scrollWidth"));
        // 24 by 24 CSS pixels: WCAG 2.2, success criterion 2.5.8. At the kit we ask for 44 on all that plays.
        Assert.Equal(0, await window.Page.EvaluateAsync<int>(
            "() => [...document.querySelectorAll('.play-bar button, .play-bar label')].filter(control => control.getBoundingClientRect().height < 44).length"));
    }
}
