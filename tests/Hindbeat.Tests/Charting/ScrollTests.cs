using Hindbeat.Charting;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Tests.Charting;

/// <summary>The sheet for a screen holds the same strokes as paper does, on one page that is as tall as its ink.</summary>
public class ScrollTests
{
    [Theory]
    [InlineData(2, true)]
    [InlineData(40, false)]
    public void A_scroll_is_one_page_as_tall_as_its_ink_with_the_strokes_of_the_paper_page(int bars, bool figures)
    {
        Chart chart = Chart(bars) with { Figures = figures ? ["swing 1.62 : 1", "kick +18 ms"] : [] };
        DisplayPage scroll = Assert.Single(Engraver.Engrave(chart, PageFormat.Scroll(200)));
        Assert.InRange(scroll.Items.Max(item => item.Bounds.Bottom), scroll.Height - 6, scroll.Height);
        Assert.InRange(scroll.Items.Min(item => item.Bounds.Top), -0.01, 6);
        Assert.All(scroll.Items, item => Assert.InRange(item.Bounds.Right, 0, 200.01));
        Assert.DoesNotContain(scroll.Items.OfType<TextItem>(), text => text.Text == chart.Title);
        Assert.Equal(figures ? 1 : 0, scroll.Items.OfType<TextItem>().Count(text => text.Text.Contains("1.62", StringComparison.Ordinal)));
        Assert.Equal(Strokes(Engraver.Engrave(chart, PageFormat.A4)), Strokes([scroll]));
    }

    private static int[] Strokes(IEnumerable<DisplayPage> pages) =>
        [.. pages.SelectMany(page => page.Items).Where(item => item.Hit is not null).Select(item => item.Hit!.Value).Distinct().Order()];

    private static Chart Chart(int bars)
    {
        Pulse pulse = Pulse.Steady(Meter.FourFour, Bpm.Of(100), AudioTime.FromSeconds(1), (bars * 4) + 1);
        var hits = new List<Hit>();
        for (int i = 0; i < bars * 8; i++)
        {
            BarPosition place = pulse.PositionAt(new Fraction(i, 2));
            hits.Add(new Hit(pulse.TimeAt(place), i % 4 == 0 ? KitPiece.Kick : KitPiece.HatClosed, 90, Level.FromDbfs(-12), 1) { Position = place });
        }

        return ChartMaker.Make(new Performance(pulse, hits), null, new ChartOptions { Title = "A scroll" });
    }
}
