using System.Xml.Linq;
using CsCheck;
using Hindbeat.Charting;
using Hindbeat.Performances;
using Hindbeat.Units;
using NAudio.Midi;
using static Hindbeat.Tests.Charting.WrittenPassages;

namespace Hindbeat.Tests.Charting;

/// <summary>Passages whose meter changes: written, engraved and exported bar by bar.</summary>
public class ChangingMeterTests
{
    private static Performance FourThenThree()
    {
        Performance four = Typed("4/4", 120, 4, ("snare", "1 3"), ("kick", "0"));
        var history = new EditHistory(new ChartState(four, new ChartOptions()));
        history.Do(new SplitBar(2, 3)); // 4/4 | 3/4 | 1/4 | 4/4 | 4/4
        return history.Current.Performance;
    }

    [Fact]
    public void Every_bar_is_as_long_as_its_meter_and_the_page_shows_each_change()
    {
        Chart chart = Written(FourThenThree());
        Assert.Equal(["1", "3/4", "1/4", "1", "1"], chart.Bars.Select(bar => bar.Length.ToString()));
        // SMuFL 1.4, time signatures: U+E080 is 0. Read line by line from the left, upper digit first.
        GlyphItem[] digits = [.. Engraver.Engrave(chart, PageFormat.A4)[0].Items.OfType<GlyphItem>().Where(glyph => glyph.Codepoint is >= 0xE080 and <= 0xE089).OrderBy(glyph => Math.Round(glyph.Y / 20)).ThenBy(glyph => Math.Round(glyph.X)).ThenBy(glyph => glyph.Y)];
        Assert.Equal("44" + "34" + "14" + "44", string.Concat(digits.Select(digit => digit.Codepoint - 0xE080)));
    }

    [Fact]
    public void MusicXML_names_the_meter_where_it_changes()
    {
        XDocument xml = ValidXml(Written(FourThenThree()));
        Assert.Equal(
            ["1 4/4", "2 3/4", "3 1/4", "4 4/4"],
            xml.Descendants("time").Select(time => $"{(string?)time.Ancestors("measure").Single().Attribute("number")} {time.Element("beats")!.Value}/{time.Element("beat-type")!.Value}"));
    }

    [Fact]
    public void Midi_files_name_the_meter_where_it_changes_and_keep_every_time()
    {
        Performance performance = FourThenThree();
        foreach (Action<Stream> write in new Action<Stream>[] { stream => ChartMidi.WriteAsPlayed(performance, stream), stream => ChartMidi.WriteAsWritten(Written(performance), stream, null) })
        {
            using var stream = new MemoryStream();
            write(stream);
            stream.Position = 0;
            var file = new MidiFile(stream, true);
            TimeSignatureEvent[] signatures = [.. file.Events[0].OfType<TimeSignatureEvent>()];
            Assert.Equal([4, 3, 1, 4], signatures.SkipWhile(each => each.Numerator == 1).Select(each => each.Numerator));
            Assert.Equal([4, 3, 1], signatures.SkipWhile(each => each.Numerator == 1).Zip(signatures.SkipWhile(each => each.Numerator == 1).Skip(1), (a, b) => (int)((b.AbsoluteTime - a.AbsoluteTime) / 960)));
        }
    }

    [Fact]
    public void Voices_add_up_pages_hold_together_and_files_are_valid() => ChangingMeters.Sample(performance =>
    {
        Chart chart = Written(performance);
        foreach (ChartBar bar in chart.Bars)
        {
            foreach (ChartVoice voice in bar.Voices)
                Assert.Equal(bar.Length, voice.Events.Aggregate(Fraction.Zero, (sum, happening) => sum + happening.Length));
        }

        Assert.Equal(performance.Hits.Count(hit => hit.Position is not null), chart.Notes().Sum(note => 1 + note.Graces.Count(grace => grace.Hit is not null)));
        ValidXml(chart);
        foreach (DisplayPage page in Engraver.Engrave(chart, PageFormat.A4))
            Assert.Equal([], CollisionTests.Meetings(page));
        List<(double Time, int Key, int Velocity)> read = ChartMidiTests.ReadTimes(stream => ChartMidi.WriteAsPlayed(performance, stream));
        Assert.All(performance.Hits.Select(hit => hit.Time.TotalSeconds).Order().Zip(read.Select(note => note.Time).Order()), pair => Assert.InRange(Math.Abs(pair.First - pair.Second), 0, 0.0005));
    }, iter: 100);
}
