using System.Xml.Linq;
using CsCheck;
using Hindbeat.Charting;
using Hindbeat.Performances;
using static Hindbeat.Tests.Charting.WrittenPassages;

namespace Hindbeat.Tests.Charting;

/// <summary>The pages: glyph codes by SMuFL's tables, places by Weinberg's guidelines, nothing lost, nothing off the paper.</summary>
public class EngraverTests
{
    private static readonly ChartOptions Plain = new() { Title = "Brass mill", Subtitle = "yard, second take" };

    [Fact]
    public void Nothing_leaves_the_paper_on_A4_or_Letter() => Any.Sample(performance =>
    {
        Chart chart = ChartMaker.Make(performance, Swung(Hindbeat.Feel.SwingLevel.Sixteenth, 1.4), Plain);
        foreach (PageFormat format in new[] { PageFormat.A4, PageFormat.Letter })
        {
            foreach (DisplayPage page in Engraver.Engrave(chart, format))
            {
                foreach (DisplayItem item in page.Items)
                {
                    Box box = item.Bounds;
                    Assert.True(
                        box.Left >= 5 && box.Right <= page.Width - 5 && box.Top >= 5 && box.Bottom <= page.Height - 3,
                        $"{item} reaches {box} on a page of {page.Width} by {page.Height}");
                }
            }
        }
    }, iter: 150);

    [Fact]
    public void Every_placed_stroke_has_a_notehead_and_one_group_in_the_svg() => Any.Sample(performance =>
    {
        int[] placed = [.. performance.Hits.Select((hit, i) => (hit, i)).Where(pair => pair.hit.Position is not null).Select(pair => pair.i)];
        IReadOnlyList<DisplayPage> pages = Engraver.Engrave(ChartMaker.Make(performance, null, Plain), PageFormat.A4);
        Assert.Equal(placed, pages.SelectMany(page => page.Items).OfType<GlyphItem>().Where(glyph => glyph.Role == InkRole.Note && glyph.Hit is not null).Select(glyph => glyph.Hit!.Value).Distinct().Order());
        int[] groups = [.. pages.SelectMany(page => Svg(page).Descendants().Attributes("data-hit")).Select(hit => (int)hit).Order()];
        Assert.Equal(placed, groups);
    }, iter: 100);

    [Theory]
    [InlineData(KitPiece.Kick, 0xE0A4, 1.5)]
    [InlineData(KitPiece.TomLow, 0xE0A4, 0.5)]
    [InlineData(KitPiece.Snare, 0xE0A4, -0.5)]
    [InlineData(KitPiece.TomMid, 0xE0A4, -1.0)]
    [InlineData(KitPiece.TomHigh, 0xE0A4, -1.5)]
    [InlineData(KitPiece.RideBell, 0xE0DC, -2.0)]
    public void Heads_stand_where_the_percussive_arts_guidelines_put_them(KitPiece piece, int glyph, double spacesBelowMiddle)
    {
        // Heights: N. Weinberg, Guidelines for Drumset Notation, Percussive Notes, June 1994 (kick F4, snare C5, …).
        // Glyphs: SMuFL 1.4, noteheadBlack U+E0A4, noteheadDiamondBlackWide U+E0DC.
        IReadOnlyList<DisplayItem> items = Engraver.Engrave(ChartMaker.Make(Typed("4/4", 100, 1, (piece.Id(), "0")), null, Plain), PageFormat.A4)[0].Items;
        GlyphItem head = Assert.Single(items.OfType<GlyphItem>(), item => item.Hit == 0);
        double middle = items.OfType<GlyphItem>().Single(item => item.Codepoint == 0xE069).Y;
        Assert.Equal(glyph, head.Codepoint);
        Assert.Equal(spacesBelowMiddle, (head.Y - middle) / PageFormat.DefaultStaffSpace, 6);
    }

    [Theory]
    [InlineData(KitPiece.HatClosed, -2.5)]
    [InlineData(KitPiece.Ride, -2.0)]
    [InlineData(KitPiece.Crash, -3.0)]
    [InlineData(KitPiece.CrossStick, -0.5)]
    [InlineData(KitPiece.HatPedal, 2.5)]
    public void Cymbals_and_cross_stick_are_crosses_in_their_places(KitPiece piece, double spacesBelowMiddle)
    {
        // Weinberg as above: hi-hat G5, ride F5, crash A5, cross-stick C5, pedal hat D4, all with x. SMuFL noteheadHeavyX U+E0F8.
        IReadOnlyList<DisplayItem> items = Engraver.Engrave(ChartMaker.Make(Typed("4/4", 100, 1, (piece.Id(), "0")), null, Plain), PageFormat.A4)[0].Items;
        GlyphItem head = Assert.Single(items.OfType<GlyphItem>(), item => item.Hit == 0);
        double middle = items.OfType<GlyphItem>().Single(item => item.Codepoint == 0xE069).Y;
        Assert.Equal(0xE0F8, head.Codepoint);
        Assert.Equal(spacesBelowMiddle, (head.Y - middle) / PageFormat.DefaultStaffSpace, 6);
    }

    [Theory]
    [InlineData("0 1/2 1 3/2 2 5/2 3 7/2", 4, 0)] // eight eighths: a beam a beat
    [InlineData("0 1/4 1/2 3/4", 2, 0)] // four 16ths: two beams
    [InlineData("0 3/4", 2, 0)] // dotted eighth and 16th: a beam and a partial beam
    [InlineData("0 1/4 3/4", 3, 0)] // 16th, eighth, 16th: one beam and two partial beams
    [InlineData("1/2", 0, 1)] // a lone eighth: a flag
    [InlineData("0 1 2 3", 0, 0)]
    public void Beams_and_flags_are_as_many_as_the_values_ask(string places, int beams, int flags)
    {
        // Common practice, no source.
        IReadOnlyList<DisplayItem> items = Engraver.Engrave(ChartMaker.Make(Typed("4/4", 100, 1, ("snare", places)), null, Plain), PageFormat.A4)[0].Items;
        Assert.Equal(beams, items.OfType<BeamItem>().Count());
        Assert.Equal(flags, items.OfType<GlyphItem>().Count(glyph => glyph.Codepoint is >= 0xE240 and <= 0xE24F));
    }

    [Fact]
    public void Hands_stems_rise_and_feet_stems_hang()
    {
        IReadOnlyList<DisplayItem> items = Engraver.Engrave(ChartMaker.Make(Typed("4/4", 100, 1, ("snare", "1"), ("kick", "0")), null, Plain), PageFormat.A4)[0].Items;
        double middle = items.OfType<GlyphItem>().Single(item => item.Codepoint == 0xE069).Y;
        LineItem[] stems = [.. items.OfType<LineItem>().Where(line => line.Role == InkRole.Stem)];
        Assert.Equal(2, stems.Length);
        Assert.Single(stems, stem => stem.Bounds.Top < middle - (3 * PageFormat.DefaultStaffSpace));
        Assert.Single(stems, stem => stem.Bounds.Bottom > middle + (3 * PageFormat.DefaultStaffSpace));
    }

    [Fact]
    public void Ghosts_accents_open_and_closing_hats_carry_their_signs()
    {
        // SMuFL: parentheses U+E0F5 / U+E0F6, accent U+E4A0, open U+E7F8, closed U+E5E5; each also once in the key.
        Performance performance = Typed(
            "4/4", 92, 1, 1,
            ("hat-open", "0", HitMarks.None), ("hat-closed", "1 2", HitMarks.None), ("snare", "3", HitMarks.Accent), ("snare", "7/2", HitMarks.Ghost));
        IReadOnlyList<DisplayItem> items = Engraver.Engrave(ChartMaker.Make(performance, null, Plain), PageFormat.A4)[0].Items;
        foreach (int code in new[] { 0xE0F5, 0xE0F6, 0xE4A0, 0xE7F8, 0xE5E5 })
            Assert.Single(items.OfType<GlyphItem>(), glyph => glyph.Codepoint == code && glyph.Hit is not null);
    }

    [Fact]
    public void The_svg_names_the_page_and_each_stroke_in_words()
    {
        XDocument svg = Svg(Engraver.Engrave(ChartMaker.Make(Typed("4/4", 92, 1, 1, ("snare", "5/4", HitMarks.Ghost)), null, Plain), PageFormat.A4)[0]);
        XNamespace ns = "http://www.w3.org/2000/svg";
        Assert.Equal("0 0 210 297", (string?)svg.Root!.Attribute("viewBox"));
        Assert.Equal("Brass mill", svg.Root.Element(ns + "title")!.Value);
        Assert.Contains("1 bar in 4/4", svg.Root.Element(ns + "desc")!.Value, StringComparison.Ordinal);
        Assert.Equal("bar 1, beat 2 + 1/4: snare, ghost", svg.Descendants(ns + "g").Single(group => group.Attribute("data-hit") is not null).Element(ns + "title")!.Value);
        Assert.Empty(svg.Descendants(ns + "text"));
    }

    [Fact]
    public void The_png_has_the_size_of_its_page()
    {
        using var stream = new MemoryStream();
        PngPage.Write(Engraver.Engrave(ChartMaker.Make(Typed("4/4", 92, 1, ("snare", "0")), null, Plain), PageFormat.A4)[0], stream, 100);
        byte[] bytes = stream.ToArray();

        // PNG (ISO/IEC 15948): width and height are the big-endian words at 16 and 20; A4 is 210 × 297 mm (ISO 216).
        Assert.Equal((827, 1170), ((bytes[18] << 8) | bytes[19], (bytes[22] << 8) | bytes[23]));
    }

    [Fact]
    public void The_pdf_has_a_page_for_each_page_at_its_size()
    {
        Performance performance = Typed("4/4", 92, 40, ("hat-closed", "0 1/4 1/2 3/4 1 5/4 3/2 7/4 2 5/2 3 7/2"), ("kick", "0 2"));
        IReadOnlyList<DisplayPage> pages = Engraver.Engrave(ChartMaker.Make(performance, null, Plain), PageFormat.Letter);
        using var stream = new MemoryStream();
        PdfPages.Write(pages, stream);
        string text = System.Text.Encoding.Latin1.GetString(stream.ToArray());

        // PDF (ISO 32000): a MediaBox in points, 72 an inch; US Letter is 8.5 × 11 inches.
        Assert.StartsWith("%PDF-", text, StringComparison.Ordinal);
        Assert.True(pages.Count > 1);
        Assert.Equal(pages.Count, System.Text.RegularExpressions.Regex.Count(text, @"/MediaBox \[0 0 612 792\]"));
    }

    [Fact]
    public void A_system_is_filled_to_the_right_margin()
    {
        Performance performance = Typed("4/4", 92, 16, ("hat-closed", "0 1/4 1/2 3/4 1 5/4 3/2 7/4 2 5/2 3 7/2"), ("kick", "0 2"));
        DisplayPage page = Engraver.Engrave(ChartMaker.Make(performance, null, Plain), PageFormat.A4)[0];
        double[] ends = [.. page.Items.OfType<LineItem>().Where(line => line.Role == InkRole.Staff && line.X1 == 15 && line.Y1 == line.Y2).Select(line => line.X2)];
        Assert.All(ends.Take(ends.Length - 10), end => Assert.Equal(210 - 15, end, 3));
    }

    private static XDocument Svg(DisplayPage page)
    {
        using var writer = new StringWriter();
        SvgPage.Write(page, writer);
        return XDocument.Parse(writer.ToString());
    }
}
