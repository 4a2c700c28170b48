using CsCheck;
using Hindbeat.Charting;
using Hindbeat.Feel;
using SkiaSharp;
using static Hindbeat.Tests.Charting.WrittenPassages;

namespace Hindbeat.Tests.Charting;

/// <summary>No two glyphs meet, judged on their outlines and not on their boxes.</summary>
public class CollisionTests
{
    [Fact]
    public void No_two_glyphs_overlap_on_two_hundred_pages()
    {
        int pages = 0;
        OrdinaryGrids.Sample(performance =>
        {
            foreach (DisplayPage page in Engraver.Engrave(ChartMaker.Make(performance, null, new ChartOptions { Title = "Brass mill" }), PageFormat.A4))
            {
                Interlocked.Increment(ref pages);
                Assert.Equal([], Meetings(page));
            }
        }, iter: 200);
        Assert.True(pages >= 200, $"Only {pages} pages were looked at.");
    }

    [Fact]
    public void No_two_glyphs_overlap_on_two_hundred_pages_with_the_playing_over_the_writing()
    {
        var look = new EngravingLook { PlayedOverWritten = true, Offsets = true, TempoAndTouch = true };
        int pages = 0;
        OrdinaryGrids.Sample(performance =>
        {
            foreach (DisplayPage page in Engraver.Engrave(ChartMaker.Make(performance, null, new ChartOptions { Title = "Brass mill", ShowCounts = true }), PageFormat.A4, look))
            {
                Interlocked.Increment(ref pages);
                Assert.Equal([], Meetings(page));
            }
        }, iter: 200);
        Assert.True(pages >= 200, $"Only {pages} pages were looked at.");
    }

    [Fact]
    public void No_two_dots_or_words_overlap_on_two_hundred_folded_bars()
    {
        int dots = 0;
        PageFormat tall = PageFormat.A4 with { Height = 500 };
        FoldablePassages.Sample(performance =>
        {
            DisplayPage page = FoldedBarPage.Draw(FoldedBar.Fold(performance, 1), "Brass mill", tall);
            Interlocked.Add(ref dots, page.Items.Count(item => item is GlyphItem));
            Assert.Equal([], Meetings(page));
        }, iter: 200);
        Assert.True(dots > 200 * 100, $"Only {dots} dots were looked at.");
    }

    internal static IEnumerable<(DisplayItem First, DisplayItem Second)> Meetings(DisplayPage page)
    {
        // Beams, stems and staff lines meet noteheads by design; what must keep apart is every glyph and word.
        DisplayItem[] items = [.. page.Items.Where(item => item is GlyphItem or TextItem).OrderBy(item => item.Bounds.Left)];
        Box[] boxes = [.. items.Select(item => item.Bounds)];
        for (int i = 0; i < items.Length; i++)
        {
            for (int j = i + 1; j < items.Length && boxes[j].Left < boxes[i].Right; j++)
            {
                if (boxes[i].Overlaps(boxes[j]) && !BelongTogether(items[i], items[j]) && OutlinesMeet(items[i], items[j]))
                    yield return (items[i], items[j]);
            }
        }
    }

    /// <summary>The z of a buzz stroke stands on its stem and may cross the flag hanging there.</summary>
    private static bool BelongTogether(DisplayItem a, DisplayItem b) =>
        a is GlyphItem { Codepoint: Smufl.BuzzTremolo } || b is GlyphItem { Codepoint: Smufl.BuzzTremolo };

    private static bool OutlinesMeet(DisplayItem a, DisplayItem b)
    {
        using SKPath first = Outline(a);
        using SKPath second = Outline(b);
        using SKPath common = first.Op(second, SKPathOp.Intersect);
        SKRect ink = common.IsEmpty ? SKRect.Empty : common.TightBounds;

        // Less than a hair of ink in common (0.05 mm) is the rounding of curves.
        return ink.Width > 0.05f && ink.Height > 0.05f;
    }

    private static SKPath Outline(DisplayItem item)
    {
        var placed = new SKPath();
        switch (item)
        {
            case GlyphItem glyph:
                MusicFont.Outline(glyph.Codepoint).Transform(SKMatrix.CreateScaleTranslation((float)glyph.Em, (float)glyph.Em, (float)glyph.X, (float)glyph.Y), placed);
                break;
            case TextItem text:
                using (SKPath outline = TextFont.Outline(text.Text, text.Cut))
                    outline.Transform(SKMatrix.CreateScaleTranslation((float)text.Em, (float)text.Em, (float)text.X, (float)text.Y), placed);
                break;
        }

        return placed;
    }
}
