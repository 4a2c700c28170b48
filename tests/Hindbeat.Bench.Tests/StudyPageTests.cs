using System.Globalization;
using System.Text.Json;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Studies;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>What a drummer sees and hears of one study.</summary>
[Collection(OneBrowser.Name)]
public class StudyPageTests(BenchInABrowser bench)
{
    private static readonly string[] AllStrokes = ["[data-chart] [data-hit]", ".folded .stroke"];

    [SkippableFact]
    public async Task Chart_rows_and_folded_bar_show_the_same_strokes()
    {
        await using Window window = await bench.OpenStudyAsync();
        Performance performance = bench.Whole.Performance;
        int[] all = [.. Enumerable.Range(0, performance.Hits.Count)];
        int[] placed = [.. all.Where(i => performance.Hits[i].Position is not null)];
        Assert.Equal(placed, await HitsIn(window, AllStrokes[0]));
        Assert.Equal(all, await HitsIn(window, AllStrokes[1]));
        window.AssertQuiet(bench);
    }

    /// <summary>The chart that the page came with is not sent a second time; a changed one is.</summary>
    [SkippableFact]
    public async Task The_chart_is_taken_over_as_it_was_sent_until_it_is_changed()
    {
        Study study = bench.Fresh();
        await using Window window = await bench.OpenStudyAsync(study);
        Assert.Equal(1, await window.Page.Locator("[data-adopted] > svg").CountAsync());
        Assert.Equal(1, await window.Page.Locator("[data-chart] svg").CountAsync());
        string before = await window.Page.Locator("[data-chart] svg").InnerHTMLAsync();
        await window.Page.SelectOptionAsync("[data-swing-writing]", "Dotted");
        await window.WaitForRevisionAsync(1);
        Assert.Equal(0, await window.Page.Locator("[data-adopted]").CountAsync());
        Assert.Equal(1, await window.Page.Locator("[data-chart] svg").CountAsync());
        Assert.NotEqual(before, await window.Page.Locator("[data-chart] svg").InnerHTMLAsync());

        // Reached by a link no page is sent: the chart is drawn where it is.
        await window.Page.ClickAsync("nav a");
        await window.Page.GetByRole(AriaRole.Link, new PageGetByRoleOptions { Name = study.Name }).ClickAsync();
        await window.WaitUntilLiveAsync();
        Assert.Equal(1, await window.Page.Locator("[data-chart] svg").CountAsync());
        bench.Library.Delete(study.Id);
        window.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task Every_feel_figure_stands_with_its_interval_and_reference()
    {
        await using Window window = await bench.OpenStudyAsync();
        FeelReport feel = bench.Whole.Feel;
        string[] rows = [.. (await window.Page.Locator(".feel > .wide tbody tr").AllInnerTextsAsync()).Select(text => text.Replace('\u00A0', ' '))];
        LayBackFigure kick = feel.LayBack.Single(figure => figure.Piece == KitPiece.Kick);
        Assert.Contains(rows, row => row.StartsWith("kick", StringComparison.Ordinal)
            && row.Contains($"{Signed(kick.Milliseconds.Low)} to {Signed(kick.Milliseconds.High)}", StringComparison.Ordinal)
            && row.Contains(Text($"{kick.Hits}"), StringComparison.Ordinal));
        SwingFigure swing = feel.Swing[0];
        Assert.Contains(rows, row => row.Contains(Text($"{swing.Ratio.Low:0.00} to {swing.Ratio.High:0.00}"), StringComparison.Ordinal));
        Assert.Contains(rows, row => row.Contains($"Measured against the {feel.ReferenceName}", StringComparison.Ordinal));
        string words = await window.Page.Locator(".words").InnerTextAsync();
        Assert.All(FeelWords.Describe(feel), sentence => Assert.Contains(sentence, words, StringComparison.Ordinal));
    }

    [SkippableFact]
    public async Task Pointing_at_a_note_marks_its_dots_and_the_other_way_round()
    {
        await using Window window = await bench.OpenStudyAsync();
        IPage page = window.Page;
        await page.ClickAsync("[data-understood]");
        // A stroke that no other lies over.
        int hit = bench.Whole.Performance.Hits.ToList().FindIndex(each => each.Piece == KitPiece.TomHigh);
        await page.Locator($".folded .stroke[data-hit='{hit}'] .reach").HoverAsync(new LocatorHoverOptions { Force = true });
        await Assertions.Expect(page.Locator($"[data-chart] .pointed[data-hit='{hit}']").First).ToBeAttachedAsync();
        await page.Locator("[data-chart] [data-hit='3']").First.HoverAsync(new LocatorHoverOptions { Force = true });
        await Assertions.Expect(page.Locator(".folded .pointed[data-hit='3']")).ToHaveCountAsync(1);
        await Assertions.Expect(page.Locator($".folded .pointed[data-hit='{hit}']")).ToHaveCountAsync(0);
        await Assertions.Expect(page.Locator("[data-readout]")).ToContainTextAsync(bench.Whole.Performance.Hits[3].Piece.Name());
    }

    [SkippableFact]
    public async Task A_study_whose_file_is_gone_says_so_and_still_plays_its_rebuilds()
    {
        await using Window window = await bench.OpenAsync($"study/{bench.Gone.Id}");
        await window.WaitUntilLiveAsync();
        IPage page = window.Page;
        await Assertions.Expect(page.Locator(".wave.gone")).ToContainTextAsync(bench.Gone.Source!);
        Assert.Equal(0, await page.Locator("input[value=original]").CountAsync());
        await page.ClickAsync("[data-play]");
        await Assertions.Expect(page.Locator("[data-play]")).ToHaveTextAsync("Stop");
        window.AssertQuiet(bench);
    }

    private static string Signed(double ms) => ms.ToString("+0.0;\u22120.0;0.0", CultureInfo.InvariantCulture);

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);

    private static async Task<int[]> HitsIn(Window window, string marks)
    {
        JsonElement? hits = await window.Page.EvaluateAsync(
            "selector => [...new Set([...document.querySelectorAll(selector)].map(mark => Number(mark.dataset.hit)))].sort((a, b) => a - b)", marks);
        return hits!.Value.Deserialize<int[]>()!;
    }
}
