using Hindbeat.Charting;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Takes;
using Hindbeat.Units;

namespace Hindbeat.Tests.Takes;

/// <summary>The picture of a take over its passage, read back from its marks.</summary>
public class TakeOverPassageTests
{
    private const int Rounds = 4;

    private static readonly TakeComparisonResult Later = Compare(12);

    [Fact]
    public void Every_stroke_of_both_is_drawn_once_and_named()
    {
        DisplayPage page = TakeOverPassage.Draw(ChangedTake.Passage, Later, "Passage", PageFormat.A4);
        int strokes = ChangedTake.Passage.Hits.Count;
        int[] drawn = [.. page.Items.OfType<GlyphItem>().Where(dot => dot.Hit is not null).Select(dot => dot.Hit!.Value).Order()];
        Assert.Equal(Enumerable.Range(0, (1 + Rounds) * strokes), drawn);
        Assert.All(drawn, hit => Assert.StartsWith(hit < strokes ? "passage, bar" : "take, bar", page.StrokeNames[hit], StringComparison.Ordinal));
    }

    [Fact]
    public void A_late_kick_stands_to_the_right_of_the_passages_by_as_much_as_it_is_late_and_its_row_says_so()
    {
        DisplayPage page = TakeOverPassage.Draw(ChangedTake.Passage, Later, "Passage", PageFormat.A4);
        double beatMs = ChangedTake.Passage.Pulse.MeanTempo.Beat.Milliseconds, beatMm = (MeanX(page, 0, KitPiece.Snare, 4) - MeanX(page, 0, KitPiece.Snare, 2)) / 2;
        double shift = MeanX(page, 1, KitPiece.Kick, 1) - MeanX(page, 0, KitPiece.Kick, 1);
        Assert.Equal(12, shift / beatMm * beatMs, 5.0);
        Assert.Contains(page.Items.OfType<TextItem>(), text => text.Text.EndsWith("ms later", StringComparison.Ordinal));
    }

    [Theory]
    [InlineData(0.85)]
    [InlineData(1.3)]
    public void Any_tempo_and_any_sheet_hold_it(double slower)
    {
        TakeComparisonResult result = TakeComparison.Of(ChangedTake.Passage, TakeAligner.Align(ChangedTake.Passage, ChangedTake.Play(2, 31, slower: slower)));
        foreach (PageFormat format in new[] { PageFormat.A4, PageFormat.Letter, PageFormat.Scroll(190) })
        {
            DisplayPage page = TakeOverPassage.Draw(ChangedTake.Passage, result, "A rather long name of a passage, and of the take that was played of it", format);
            Assert.All(page.Items, item => Assert.True(item.Bounds.Left >= -0.5 && item.Bounds.Right <= page.Width + 0.5 && item.Bounds.Bottom <= page.Height));
        }
    }

    private static double MeanX(DisplayPage page, int whose, KitPiece piece, int beat)
    {
        int strokes = ChangedTake.Passage.Hits.Count;
        string place = $"beat {beat}: {piece.Name()}";
        return page.Items.OfType<GlyphItem>().Where(dot => dot.Hit is { } hit && hit < strokes == (whose == 0) && page.StrokeNames[hit].EndsWith(place, StringComparison.Ordinal))
            .Average(dot => dot.Bounds.Left + (dot.Bounds.Width / 2));
    }

    private static TakeComparisonResult Compare(double laterMs)
    {
        double own = ChangedTake.Feel.LayBack.First(figure => figure.Piece == KitPiece.Kick).Milliseconds.Value;
        Dials dials = Dials.AsPlayed with { Pieces = new Dictionary<KitPiece, PieceDial> { [KitPiece.Kick] = new(LayBackTo: Seconds.FromMilliseconds(own + laterMs)) } };
        return TakeComparison.Of(ChangedTake.Passage, TakeAligner.Align(ChangedTake.Passage, ChangedTake.Play(Rounds, 21, dials)));
    }
}
