using System.Xml;
using System.Xml.Linq;
using System.Xml.Schema;
using CsCheck;
using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Performances;
using static Hindbeat.Tests.Charting.WrittenPassages;

namespace Hindbeat.Tests.Charting;

/// <summary>Against the W3C schema of MusicXML 4.0 (tests/data/musicxml-4.0) and the conventions of its reference.</summary>
public class MusicXmlFileTests
{
    private static readonly ChartOptions Plain = new() { Title = "Brass mill & yard <2>" };

    internal static readonly Lazy<XmlSchemaSet> Schema = new(() =>
    {
        string folder = Path.Combine(LayerTests.RepositoryRoot(), "tests", "data", "musicxml-4.0");
        var set = new XmlSchemaSet { XmlResolver = new XmlUrlResolver() };
        set.Add(null, Path.Combine(folder, "musicxml.xsd"));
        set.Compile();
        return set;
    });

    [Fact]
    public void The_schema_refuses_a_misspelt_element()
    {
        XDocument wrong = Write(Typed("4/4", 100, 1, ("snare", "0")));
        wrong.Root!.Add(new XElement("prat"));
        Assert.Throws<XmlSchemaValidationException>(() => wrong.Validate(Schema.Value, null));
    }

    [Fact]
    public void Any_passage_in_any_meter_is_valid() => Any.Sample(performance => Write(performance).Validate(Schema.Value, null), iter: 400);

    [Fact]
    public void A_swung_passage_with_accents_ghosts_flams_and_open_hats_is_valid()
    {
        Performance performance = Typed(
            "4/4", 92, 2, 1,
            ("hat-open", "0", HitMarks.None), ("hat-closed", "1/2 1 3/2", HitMarks.None), ("snare", "1", HitMarks.Accent),
            ("snare", "7/4", HitMarks.Ghost), ("snare", "3", HitMarks.Flam), ("kick", "0 5/2", HitMarks.None));
        XDocument document = Write(performance, Swung(SwingLevel.Sixteenth, 1.62));
        document.Validate(Schema.Value, null);
        Assert.Equal("16th", document.Descendants("swing-type").Single().Value);
        Assert.Equal(2, document.Descendants("accent").Count());
        Assert.Equal(2, document.Descendants("grace").Count());
        Assert.Equal(2, document.Descendants("open").Count());
        Assert.Equal(2, document.Descendants("notehead").Count(head => (string?)head.Attribute("parentheses") == "yes"));
    }

    [Fact]
    public void Both_voices_fill_every_bar_in_divisions() => Any.Sample(performance =>
    {
        long divisions = 0;
        foreach (XElement measure in Write(performance).Descendants("measure"))
        {
            divisions = (long?)measure.Element("attributes")?.Element("divisions") ?? divisions;
            long back = (long)measure.Element("backup")!.Element("duration")!;
            foreach (string voice in new[] { "1", "2" })
            {
                long sum = measure.Elements("note")
                    .Where(note => (string?)note.Element("voice") == voice && note.Element("chord") is null && note.Element("grace") is null)
                    .Sum(note => (long)note.Element("duration")!);
                Assert.Equal(back, sum);
            }

            if ((string?)measure.Attribute("implicit") != "yes")
                Assert.Equal(performance.Meter.Numerator * 4 * divisions, back * performance.Meter.Denominator);
        }
    }, iter: 400);

    [Theory]
    [InlineData(KitPiece.Kick, "F", 4, null, 37)]
    [InlineData(KitPiece.Snare, "C", 5, null, 39)]
    [InlineData(KitPiece.CrossStick, "C", 5, "x", 38)]
    [InlineData(KitPiece.HatClosed, "G", 5, "x", 43)]
    [InlineData(KitPiece.HatPedal, "D", 4, "x", 45)]
    [InlineData(KitPiece.Ride, "F", 5, "x", 52)]
    [InlineData(KitPiece.RideBell, "F", 5, "diamond", 54)]
    [InlineData(KitPiece.Crash, "A", 5, "x", 50)]
    [InlineData(KitPiece.TomHigh, "E", 5, null, 49)]
    [InlineData(KitPiece.TomMid, "D", 5, null, 46)]
    [InlineData(KitPiece.TomLow, "A", 4, null, 44)]
    public void Pieces_stand_where_the_percussive_arts_guidelines_put_them(KitPiece piece, string step, int octave, string? head, int midiUnpitched)
    {
        // Lines, spaces and heads: N. Weinberg, Guidelines for Drumset Notation, Percussive Notes, June 1994.
        // Keys: General MIDI Level 1 percussion map, plus one because midi-unpitched counts from 1 (MusicXML 4.0).
        XDocument document = Write(Typed("4/4", 100, 1, (piece.Id(), "0")));
        XElement note = document.Descendants("note").Single(candidate => candidate.Element("unpitched") is not null);
        Assert.Equal(step, (string?)note.Element("unpitched")!.Element("display-step"));
        Assert.Equal(octave, (int)note.Element("unpitched")!.Element("display-octave")!);
        Assert.Equal(head, (string?)note.Element("notehead"));
        Assert.Equal(midiUnpitched, (int)document.Descendants("midi-unpitched").Single());
    }

    [Theory]
    [InlineData(1.2, 6, 5)] // the MusicXML 4.0 reference's own kind of example: 1.2 : 1 = 6 : 5
    [InlineData(2.0, 2, 1)]
    [InlineData(1.0, 1, 1)]
    [InlineData(1.62, 81, 50)]
    public void A_swing_ratio_is_written_in_whole_numbers(double ratio, int first, int second) =>
        Assert.Equal((first, second), MusicXmlFile.WholeRatio(ratio));

    [Fact]
    public void A_dotted_eighth_and_a_16th_share_one_beam_and_a_backward_hook()
    {
        XDocument document = Write(Typed("4/4", 100, 1, ("snare", "0 3/4")));
        XElement[] notes = [.. document.Descendants("note").Where(note => note.Element("beam") is not null)];
        Assert.Equal(["begin"], notes[0].Elements("beam").Select(beam => beam.Value));
        Assert.Equal(["end", "backward hook"], notes[1].Elements("beam").Select(beam => beam.Value));
    }

    [Fact]
    public void The_played_shift_is_the_attack_in_divisions()
    {
        Performance straight = Typed("4/4", 120, 1, ("snare", "0 1"));
        Hit late = straight.Hits[1] with { Time = straight.Hits[1].Time + Hindbeat.Units.Seconds.FromMilliseconds(25) };
        XDocument document = Write(new Performance(straight.Pulse, [straight.Hits[0], late]));

        // 25 ms of a 500 ms quarter is 0.05 of a quarter.
        int divisions = (int)document.Descendants("divisions").Single();
        XElement[] notes = [.. document.Descendants("note").Where(note => note.Element("unpitched") is not null)];
        Assert.Null(notes[0].Attribute("attack"));
        Assert.Equal(0.05 * divisions, (double)notes[1].Attribute("attack")!, 4);
    }

    private static XDocument Write(Performance performance, FeelReport? feel = null)
    {
        using var stream = new MemoryStream();
        MusicXmlFile.Write(ChartMaker.Make(performance, feel, Plain), stream);
        stream.Position = 0;
        return XDocument.Load(stream);
    }
}
