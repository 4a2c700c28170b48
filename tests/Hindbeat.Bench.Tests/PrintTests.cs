using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>On paper: the chart's own sheets at their size, one page each, and nothing of the bench around them.</summary>
[Collection(OneBrowser.Name)]
public partial class PrintTests(BenchInABrowser bench)
{
    /// <summary>Sizes of ISO 216 A4 (210 × 297 mm) and of US Letter (8.5 × 11 in) in PostScript points of 1/72 in.</summary>
    [SkippableTheory]
    [InlineData("a4", 595.28, 841.89)]
    [InlineData("letter", 612, 792)]
    public async Task A_sheet_is_a_page_of_its_size(string paper, double width, double height)
    {
        await using Window window = await bench.OpenAsync($"study/{bench.Whole.Id}/sheets/{paper}");
        int sheets = await window.Page.Locator(".sheet svg").CountAsync();
        Assert.True(sheets >= 1);
        byte[] pdf = await window.Page.PdfAsync(new PagePdfOptions { PreferCSSPageSize = true, PrintBackground = true });
        string text = Encoding.Latin1.GetString(pdf);
        MatchCollection boxes = MediaBox().Matches(text);
        Assert.Equal(sheets, boxes.Count);
        Assert.All(boxes, box =>
        {
            Assert.Equal(width, double.Parse(box.Groups[1].Value, CultureInfo.InvariantCulture), 1.0);
            Assert.Equal(height, double.Parse(box.Groups[2].Value, CultureInfo.InvariantCulture), 1.0);
        });
        window.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task The_page_itself_prints_without_its_tools()
    {
        await using Window window = await bench.OpenStudyAsync();
        await window.Page.EmulateMediaAsync(new PageEmulateMediaOptions { Media = Media.Print });
        foreach (string hidden in new[] { ".play-bar", ".tools >> nth=0", ".history", ".dials", ".ears", ".keys", "[data-hear-figure] >> nth=0" })
            Assert.False(await window.Page.Locator(hidden).IsVisibleAsync(), $"{hidden} would be printed.");
        Assert.True(await window.Page.Locator("[data-chart] svg").First.IsVisibleAsync());
        Assert.True(await window.Page.Locator(".words").IsVisibleAsync());
    }

    [GeneratedRegex(@"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]")]
    private static partial Regex MediaBox();
}
