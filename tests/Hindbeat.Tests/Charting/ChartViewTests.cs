using System.IO.Compression;
using System.Xml.Linq;
using CsCheck;
using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;
using static Hindbeat.Tests.Charting.WrittenPassages;

namespace Hindbeat.Tests.Charting;

/// <summary>What a chart can show beyond plain writing: repeats, a typical bar, played places, counts, other ways to write.</summary>
public class ChartViewTests
{
    [Fact]
    public void Bars_that_repeat_are_written_once_and_played_as_often()
    {
        Chart folded = ChartMaker.Make(Typed("4/4", 100, 6, ("snare", "1 3"), ("kick", "0")), null, Plain with { FoldRepeats = true });
        ChartBar bar = Assert.Single(folded.Bars);
        Assert.Equal((true, 6), (bar.RepeatBegins, bar.RepeatTimes));
        Assert.Equal(6, RepeatFolding.InPlayingOrder(folded.Bars).Count);
    }

    [Fact]
    public void Unfolding_gives_the_bars_back_as_they_look() => OrdinaryGrids.Sample(performance =>
    {
        // The passage twice over, so that there is something to fold; a passage may be nothing but a pickup.
        Chart chart = ChartMaker.Make(performance, null, Plain);
        ChartBar[] whole = [.. chart.Bars.Where(bar => !bar.IsPickup)];
        Chart twice = chart with { Bars = [.. whole, .. whole] };
        Chart folded = RepeatFolding.Fold(twice);
        Assert.True(folded.Bars.Count < twice.Bars.Count || whole.Length is 0 or > 8);
        Assert.Equal(Looks(twice.Bars), Looks(RepeatFolding.InPlayingOrder(folded.Bars)));
    }, iter: 100);

    private static IEnumerable<string> Looks(IEnumerable<ChartBar> bars) => bars.Select(bar => string.Join(' ', bar.Voices.SelectMany(voice => voice.Events)
        .Select(happening => $"{happening.At} {happening.Value} {string.Join('+', happening.Notes.Select(note => $"{note.Piece} {note.Marks}"))}")));

    [Fact]
    public void A_typical_bar_says_how_often_a_stroke_comes()
    {
        Performance four = Typed("4/4", 100, 4, ("snare", "1 3"), ("kick", "0"));
        Hit extra = four.Hits[0] with { Piece = KitPiece.Kick, Position = new BarPosition(1, 2, new Fraction(1, 2)) };
        Hit again = extra with { Position = new BarPosition(3, 2, new Fraction(1, 2)) };
        Hit once = extra with { Position = new BarPosition(4, 4, new Fraction(1, 2)) };
        Chart typical = TypicalBar.Make(new Performance(four.Pulse, [.. four.Hits, extra, again, once]), null, Plain);
        ChartNote[] notes = [.. Assert.Single(typical.Bars).Voices.SelectMany(voice => voice.Events).SelectMany(happening => happening.Notes)];
        Assert.Equal(4, notes.Length);
        Assert.Equal([new Occurrence(2, 4), new Occurrence(4, 4), new Occurrence(4, 4), new Occurrence(4, 4)], notes.Select(note => note.Seen!.Value).OrderBy(seen => seen.Bars));
    }

    [Theory]
    [InlineData(0)]
    [InlineData(25)]
    [InlineData(-25)]
    public void A_played_head_stands_as_far_from_its_place_as_it_is_late(double lateMs)
    {
        Performance even = Typed("4/4", 120, 1, ("snare", "0 1 2 3"));
        Hit moved = even.Hits[1] with { Time = even.Hits[1].Time + Seconds.FromMilliseconds(lateMs) };
        Chart chart = ChartMaker.Make(new Performance(even.Pulse, [even.Hits[0], moved, even.Hits[2], even.Hits[3]]), null, Plain);
        double[] Heads(EngravingLook look) => [.. Engraver.Engrave(chart, PageFormat.A4, look)[0].Items.OfType<GlyphItem>()
            .Where(item => item.Role == InkRole.Note && item.Hit is not null).OrderBy(item => item.Hit).Select(item => (item.Bounds.Left + item.Bounds.Right) / 2)];
        double[] played = Heads(new EngravingLook { PlayedOverWritten = true });

        // 25 ms of a 500 ms beat: a twentieth of the way to the neighbouring beat.
        double way = played[2] - played[0];
        Assert.Equal(lateMs / 500, (played[1] - ((played[0] + played[2]) / 2)) / (way / 2), 2);
    }

    [Fact]
    public void Views_keep_glyphs_apart_and_on_the_paper()
    {
        int pages = 0;
        OrdinaryGrids.Sample(performance =>
        {
            Chart chart = ChartMaker.Make(performance, null, Plain with { FoldRepeats = true, ShowCounts = true, OneVoice = true, Staff = StaffMap.HatsOnTopLine });
            foreach (DisplayPage page in Engraver.Engrave(chart, PageFormat.A4, new EngravingLook { TempoAndTouch = true }))
            {
                Interlocked.Increment(ref pages);
                Assert.Equal([], CollisionTests.Meetings(page));
                Assert.All(page.Items, item => Assert.True(item.Bounds.Left >= 8 && item.Bounds.Right <= page.Width - 8 && item.Bounds.Bottom <= page.Height - 3, $"{item} leaves the page"));
            }
        }, iter: 60);
        Assert.True(pages >= 60);
    }

    [Theory]
    [InlineData("4/4", "0 1/4 1/2 3/4", "1 e & a")]
    [InlineData("4/4", "2 7/3 8/3", "3 trip let")]
    [InlineData("6/8", "0 1/3 2/3 1", "1 2 3 4")]
    [InlineData("7/8", "0 1 3/2", "1 2 &")]
    public void Counts_are_those_that_drummers_say(string meter, string beats, string words)
    {
        // Common practice, no source.
        Meter signature = Meter.Parse(meter);
        Assert.Equal(words.Split(' '), beats.Split(' ').Select(beat => CountWords.Of(signature, Fraction.Parse(beat) * signature.BeatLength)));
    }

    [Theory]
    [InlineData(SwingWriting.Straight, "1/16")]
    [InlineData(SwingWriting.Triplet, "1/12")]
    [InlineData(SwingWriting.Dotted, "3/32")]
    [InlineData(SwingWriting.AsPlaced, "1/12")]
    public void Swung_pairs_are_written_as_asked(SwingWriting writing, string off)
    {
        // The pulse placed the second 16th of the pair on its triplet place: two thirds of an eighth.
        Chart chart = ChartMaker.Make(Typed("4/4", 92, 1, ("snare", "0 1/3")), Swung(SwingLevel.Sixteenth, 1.62), Plain with { SwingWriting = writing });
        Assert.Equal(Fraction.Parse(off), chart.Bars[0].Hands.Events.Where(happening => !happening.IsRest).ElementAt(1).At);
        Assert.Equal(writing == SwingWriting.Straight, chart.Swing is not null);
    }

    [Theory]
    [InlineData(SwingLevel.Eighth, "0 1/2 1 3/2")]
    [InlineData(SwingLevel.Sixteenth, "0 1/4 1/2 3/4 1 5/4")]
    public void Swung_pairs_that_are_placed_even_stay_even(SwingLevel level, string places)
    {
        Chart chart = ChartMaker.Make(Typed("4/4", 92, 1, ("snare", places)), Swung(level, 1.7), Plain);
        Assert.Equal(places.Split(' ').Select(place => Fraction.Parse(place) / 4), chart.Bars[0].Hands.Events.Where(happening => !happening.IsRest).Select(happening => happening.At));
        Assert.Empty(chart.Bars[0].Hands.Tuplets);
    }

    [Fact]
    public void One_voice_holds_hands_and_feet()
    {
        Chart chart = ChartMaker.Make(Typed("4/4", 92, 1, ("snare", "1 3"), ("kick", "0 1")), null, Plain with { OneVoice = true });
        Assert.True(chart.Bars[0].Feet.IsSilent);
        Assert.Equal(4, chart.Bars[0].Hands.Events.Sum(happening => happening.Notes.Count));
        Assert.Equal(2, chart.Bars[0].Hands.Events.Single(happening => happening.At == new Fraction(1, 4)).Notes.Count);
    }

    [Fact]
    public void A_piece_can_be_moved_and_the_page_and_the_file_follow()
    {
        StaffMap staff = StaffMap.Guidelines.With(KitPiece.TomLow, new StaffPlace('G', 4, Head.Diamond));
        Chart chart = ChartMaker.Make(Typed("4/4", 92, 1, ("tom-low", "0")), null, Plain with { Staff = staff });
        IReadOnlyList<DisplayItem> items = Engraver.Engrave(chart, PageFormat.A4)[0].Items;
        GlyphItem head = Assert.Single(items.OfType<GlyphItem>(), item => item.Hit == 0);
        double middle = items.OfType<GlyphItem>().Single(item => item.Codepoint == 0xE069).Y;
        Assert.Equal(1.0, (head.Y - middle) / PageFormat.DefaultStaffSpace, 6); // G4 is the second line, one space below B4
        XElement pitch = ValidXml(chart).Descendants("unpitched").Single();
        Assert.Equal("G4", pitch.Element("display-step")!.Value + pitch.Element("display-octave")!.Value);
        Assert.Throws<InputException>(() => staff.With(KitPiece.Kick, new StaffPlace('C', 9, Head.Normal)));
    }

    [Fact]
    public void Repeats_are_valid_MusicXML_and_carry_how_often()
    {
        XDocument xml = ValidXml(ChartMaker.Make(Typed("4/4", 100, 4, 1, ("snare", "1 3", HitMarks.None), ("crash", "0", HitMarks.Choke)), null, Plain with { FoldRepeats = true }));
        Assert.Equal(["forward", "backward"], xml.Descendants("repeat").Select(repeat => (string?)repeat.Attribute("direction")));
        Assert.Equal("4", (string?)xml.Descendants("repeat").Last().Attribute("times"));
        Assert.Equal("choke", xml.Descendants("other-technical").Single().Value);
    }

    [Fact]
    public void The_compressed_file_holds_the_score_and_names_it()
    {
        // MusicXML 4.0: META-INF/container.xml names the root file; container.xsd is the W3C's.
        Chart chart = ChartMaker.Make(Typed("4/4", 100, 1, ("snare", "1 3")), null, Plain);
        using var stream = new MemoryStream();
        MusicXmlPackage.Write(chart, stream);
        stream.Position = 0;
        using var zip = new ZipArchive(stream);
        Assert.Equal("mimetype", zip.Entries[0].FullName);
        using Stream container = zip.GetEntry("META-INF/container.xml")!.Open();
        string name = (string)XDocument.Load(container).Descendants("rootfile").Single().Attribute("full-path")!;
        using Stream score = zip.GetEntry(name)!.Open();
        Assert.Equal(ValidXml(chart).ToString(), XDocument.Load(score).ToString());
    }

    [Fact]
    public void The_folded_bar_puts_a_dot_where_each_stroke_fell()
    {
        Performance four = Typed("4/4", 120, 4, ("snare", "1 3"), ("kick", "0 2"));
        var late = new Performance(four.Pulse, four.Hits.Select(hit => hit.Piece == KitPiece.Snare ? hit with { Time = hit.Time + Seconds.FromMilliseconds(50) } : hit));
        DisplayPage page = FoldedBarPage.Draw(FoldedBar.Fold(late, 1), "Brass mill", PageFormat.A4);
        double X(int hit) => page.Items.OfType<GlyphItem>().Where(dot => dot.Hit == hit).Select(dot => (dot.Bounds.Left + dot.Bounds.Right) / 2).Single();

        // Hits in time: kick on 1, snare on 2, kick on 3, snare on 4; 50 ms of 500 ms is a tenth of a beat.
        double beat = (X(2) - X(0)) / 2;
        Assert.Equal(1.1, (X(1) - X(0)) / beat, 3);
        Assert.Equal(3.1, (X(3) - X(0)) / beat, 3);
        Assert.Equal(16, page.Items.OfType<GlyphItem>().Count());
        Assert.Equal(2, page.Items.OfType<TextItem>().Count(text => text.Text == "+50"));
        Assert.All(page.Items, item => Assert.True(item.Bounds.Right < page.Width - 8 && item.Bounds.Left > 8));
    }

    [Fact]
    public void Bars_that_differ_in_ghosts_alone_repeat_and_say_how_often_a_ghost_comes()
    {
        // Four bars: a ghost on "2 a" in the first three, and in the last a kick more, which is a variation.
        Performance four = Typed("4/4", 100, 4, ("hat-closed", "0 1/2 1 3/2 2 5/2 3 7/2"), ("snare", "1 3"), ("kick", "0 2"));
        Hit GhostIn(int bar) => four.Hits[0] with { Piece = KitPiece.Snare, Velocity = 25, Marks = HitMarks.Ghost, Position = new BarPosition(bar, 2, new Fraction(3, 4)) };
        Hit kick = four.Hits[0] with { Piece = KitPiece.Kick, Position = new BarPosition(4, 4, new Fraction(1, 2)) };
        var varied = new Performance(four.Pulse, [.. four.Hits, GhostIn(1), GhostIn(3), kick]);
        Assert.Equal(4, Written(varied, Plain with { FoldRepeats = true }).Bars.Count); // no two look the same side by side

        Chart folded = Written(varied, Plain with { FoldRepeats = true, RepeatAlike = true });
        Assert.Equal([(true, 3), (false, 1)], folded.Bars.Select(bar => (bar.RepeatBegins, bar.RepeatTimes)));
        ChartNote ghost = Assert.Single(folded.Bars[0].Hands.Events.SelectMany(happening => happening.Notes), note => note.Marks == HitMarks.Ghost);
        Assert.Equal(new Occurrence(2, 3), ghost.Seen);
        Assert.Contains(Engraver.Engrave(folded, PageFormat.A4)[0].Items.OfType<TextItem>(), text => text.Text == "2/3");
        Assert.Equal(3, folded.Bars[1].Feet.Events.Sum(happening => happening.Notes.Count));
    }

    [Theory]
    [InlineData("0 1/2 1 3/2 2 5/2 3 7/2", "4 4")] // plain eighths: a beam a half bar
    [InlineData("0 1/2 1 5/4 3/2 2 5/2 3 7/2", "2 3 4")] // 16ths in the second beat: there a beam a beat
    [InlineData("0 1/2 1 3/2 2 3 7/2", "4 2")] // a quarter on 3
    [InlineData("1 3/2 2 5/2", "2 2")] // never over the middle of the bar
    public void Eighths_are_beamed_in_fours_where_asked(string places, string beams)
    {
        Performance bar = Typed("4/4", 100, 1, ("hat-closed", places));
        string Beams(ChartOptions options) => string.Join(' ', Written(bar, options).Bars[0].Hands.Beams.Select(run => run.Last - run.First + 1));
        Assert.Equal(beams, Beams(Plain with { EighthsInFours = true }));
        Assert.DoesNotContain("4", Beams(Plain), StringComparison.Ordinal);
    }

    [Fact]
    public void Half_open_hats_have_a_sign_of_their_own()
    {
        // SMuFL 1.4, pictHalfOpen1 U+E7F6; the next closed stroke gets its "+" back only after the hats were open.
        Chart chart = Written(Typed("4/4", 100, 1, 1, ("hat-open", "0", HitMarks.HalfOpen), ("hat-closed", "1", HitMarks.None)));
        DisplayItem[] items = [.. Engraver.Engrave(chart, PageFormat.A4)[0].Items];
        Assert.Equal([0xE7F6], items.OfType<GlyphItem>().Where(glyph => glyph.Hit == 0 && glyph.Role == InkRole.Mark).Select(glyph => glyph.Codepoint));
        Assert.Equal([0xE5E5], items.OfType<GlyphItem>().Where(glyph => glyph.Hit == 1 && glyph.Role == InkRole.Mark).Select(glyph => glyph.Codepoint));
        Assert.Contains(items.OfType<TextItem>(), text => text.Text == "half-open");
        Assert.Equal("pictHalfOpen1", (string?)ValidXml(chart).Descendants("other-technical").Single().Attribute("smufl"));
    }

    [Fact]
    public void Hands_marked_on_strokes_are_printed_under_the_staff()
    {
        Chart chart = Written(Typed("4/4", 100, 1, 1, ("snare", "0", HitMarks.RightHand), ("snare", "1", HitMarks.LeftHand), ("snare", "2", HitMarks.RightHand | HitMarks.LeftHand), ("snare", "3", HitMarks.None)));
        Assert.Equal(["R", "L", "RL"], Engraver.Engrave(chart, PageFormat.A4)[0].Items.OfType<TextItem>().Select(text => text.Text).Where(text => text is "R" or "L" or "RL"));
    }

    [Fact]
    public void A_beat_with_the_middle_triplet_struck_is_a_plain_triplet_even_where_swung_eighths_are_straight()
    {
        // Swung 8ths: the hand's "1 &" sounds on the last triplet, the kick on the middle one.
        Chart chart = ChartMaker.Make(Typed("4/4", 140, 1, ("ride", "0 1/2"), ("snare", "1/3"), ("kick", "1 4/3")), Swung(SwingLevel.Eighth, 1.9), Plain);
        Assert.Equal(["0", "1/12", "1/6"], chart.Bars[0].Hands.Events.Take(3).Select(happening => happening.At.ToString()));
        Assert.Equal((3, 2), (chart.Bars[0].Hands.Tuplets[0].Actual, chart.Bars[0].Hands.Tuplets[0].Normal));

        // Two strokes of a triplet with the last one silent stay one triplet of eighths.
        Tuplet feet = Assert.Single(chart.Bars[0].Feet.Tuplets);
        Assert.Equal((3, 2, new NoteValue(3)), (feet.Actual, feet.Normal, feet.Unit));
    }
}
