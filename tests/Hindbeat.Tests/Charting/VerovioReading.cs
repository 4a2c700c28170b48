using System.Globalization;
using System.Text.Json;
using System.Xml.Linq;
using Hindbeat.Charting;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Tests.Charting;

/// <summary>One note as a reader sees it. Places and lengths are shares of a whole note, from the bar's start.</summary>
/// <param name="Graces">Grace notes before its chord; neither format says to which note of a chord they belong.</param>
/// <param name="Loc">Lines and spaces above the bottom line, as MEI counts them.</param>
internal sealed record ReadNote(int Bar, int Voice, Fraction At, Fraction Length, int Loc, string Head, bool Ghost, int Graces);

/// <summary>
/// What verovio (an engraving library of its own make, LGPL; see tests/verovio) understands of the MusicXML
/// that a chart is written to: its MEI, walked by layers, and its own reckoning of when each note begins.
/// </summary>
internal static class VerovioReading
{
    private static readonly XNamespace Mei = "http://www.music-encoding.org/ns/mei";
    private static readonly XName Id = XNamespace.Xml + "id";

    private static string Folder => Path.Combine(LayerTests.RepositoryRoot(), "tests", "verovio");

    public static void Needed()
    {
        Needs.Tool("node");
        Needs.That(Directory.Exists(Path.Combine(Folder, "node_modules", "verovio")), "This test needs verovio: run 'npm ci' in tests/verovio.");
    }

    /// <summary>Notes and bar lengths (shares of a whole note) of each chart, as read back.</summary>
    public static IReadOnlyList<(List<ReadNote> Notes, List<Fraction> Bars)> Read(IReadOnlyList<Chart> charts)
    {
        string work = Directory.CreateTempSubdirectory("hindbeat-verovio-").FullName;
        try
        {
            for (int i = 0; i < charts.Count; i++)
            {
                using FileStream stream = File.Create(Path.Combine(work, $"{i:0000}.musicxml"));
                MusicXmlFile.Write(charts[i], stream);
            }

            Needs.Run("node", Path.Combine(Folder, "mei.mjs"), work);
            return [.. Enumerable.Range(0, charts.Count).Select(i => Parse(
                XDocument.Load(Path.Combine(work, $"{i:0000}.mei")),
                JsonSerializer.Deserialize<Dictionary<string, double>>(File.ReadAllText(Path.Combine(work, $"{i:0000}.times.json")))!))];
        }
        finally
        {
            Directory.Delete(work, recursive: true);
        }
    }

    /// <summary>The same of the chart itself.</summary>
    public static (List<ReadNote> Notes, List<Fraction> Bars) Expected(Chart chart)
    {
        var notes = new List<ReadNote>();
        for (int bar = 0; bar < chart.Bars.Count; bar++)
        {
            foreach ((ChartVoice voice, int number) in chart.Bars[bar].Voices.Select((voice, v) => (voice, v + 1)))
            {
                foreach (ChartEvent happening in voice.Events)
                {
                    notes.AddRange(happening.Notes.Select(note => new ReadNote(
                        bar, number, happening.At - chart.Bars[bar].Start, happening.Length,
                        chart.Staff.Place(note.Piece).StepsAboveMiddle + 4, HeadWord(chart.Staff.HeadOf(note.Piece, note.Marks)),
                        note.Marks.HasFlag(HitMarks.Ghost), happening.Notes.Sum(each => each.Graces.Count))));
                }
            }
        }

        return ([.. notes.Order(ByPlace)], [.. chart.Bars.Select(bar => bar.Length)]);
    }

    private static (List<ReadNote> Notes, List<Fraction> Bars) Parse(XDocument mei, Dictionary<string, double> starts)
    {
        var notes = new List<ReadNote>();
        var bars = new List<Fraction>();
        Fraction meter = Fraction.One;
        double barStart = 0;
        foreach (XElement measure in mei.Descendants().Where(element => element.Name == Mei + "measure" || element.Name == Mei + "meterSig"))
        {
            // A signature stands before the bars that it counts.
            if (measure.Name == Mei + "meterSig")
            {
                meter = new Fraction((int)measure.Attribute("count")!, (int)measure.Attribute("unit")!);
                continue;
            }

            // A bar of nothing but a whole rest is as long as its meter says.
            Fraction length = measure.Descendants(Mei + "note").Any() ? Fraction.Zero : meter;
            foreach (XElement layer in measure.Descendants(Mei + "layer"))
            {
                var walk = new Walk(bars.Count, (int)layer.Attribute("n")!, notes, starts, barStart);
                walk.Through(layer, Fraction.One);
                if (walk.At > 0)
                    Assert.True(length == 0 || length == walk.At, $"Bar {bars.Count + 1}: one layer lasts {length}, another {walk.At} of a whole note.");
                length = walk.At > 0 ? walk.At : length;
            }

            Assert.True(Math.Abs(barStart - starts[(string)measure.Attribute(Id)!]) < 1e-4, $"Bar {bars.Count + 1} begins at {starts[(string)measure.Attribute(Id)!]}, not at {barStart} quarters.");
            barStart += length.ToDouble() * 4;
            bars.Add(length);
        }

        return ([.. notes.Order(ByPlace)], bars);
    }

    private static readonly Comparer<ReadNote> ByPlace = Comparer<ReadNote>.Create((a, b) =>
        (a.Bar, a.Voice, a.At, a.Loc).CompareTo((b.Bar, b.Voice, b.At, b.Loc)) is var order and not 0
            ? order
            : string.CompareOrdinal(a.Head + a.Graces, b.Head + b.Graces));

    private static string HeadWord(Head head) => head switch
    {
        Head.Cross => "x",
        Head.Diamond => "diamond",
        // verovio 6.3 reads MusicXML's "circle-x" as its "slash".
        Head.CircledCross => "slash",
        Head.Triangle => "rtriangle",
        // verovio 6.3 drops MusicXML's "slashed" and reads the note without it.
        _ => "",
    };

    /// <summary>Walks one layer, adding up printed lengths.</summary>
    private sealed class Walk(int bar, int voice, List<ReadNote> notes, Dictionary<string, double> starts, double barStart)
    {
        private int _graces;

        public Fraction At { get; private set; }

        public void Through(XElement parent, Fraction stretch)
        {
            foreach (XElement element in parent.Elements())
            {
                switch (element.Name.LocalName)
                {
                    case "tuplet":
                        Through(element, stretch * new Fraction((int)element.Attribute("numbase")!, (int)element.Attribute("num")!));
                        break;
                    case "beam" or "graceGrp" or "bTrem":
                        Through(element, stretch);
                        break;
                    case "rest" or "space":
                        At += LengthOf(element) * stretch;
                        break;
                    case "chord" or "note" when element.Attribute("grace") is not null:
                        _graces++;
                        break;
                    case "chord" or "note":
                        AddNotes(element, stretch);
                        break;
                }
            }
        }

        private void AddNotes(XElement element, Fraction stretch)
        {
            Fraction length = LengthOf(element) * stretch;
            foreach (XElement note in element.Name.LocalName == "chord" ? element.Elements(Mei + "note") : [element])
            {
                notes.Add(new ReadNote(bar, voice, At, length, (int)note.Attribute("loc")!, Shape(note), (string?)note.Attribute("head.mod") == "paren", _graces));
                double begins = starts[(string)note.Attribute(Id)!];
                if (_graces == 0)
                    Assert.True(Math.Abs(begins - barStart - (At.ToDouble() * 4)) < 1e-4, $"Bar {bar + 1}, voice {voice}: the note {At} into the bar, which begins at {barStart} quarters, begins at {begins}: {note}");
            }

            _graces = 0;
            At += length;
        }

        private static string Shape(XElement note) => (string?)note.Attribute("head.shape") ?? "";

        private static Fraction LengthOf(XElement element)
        {
            int dots = (int?)element.Attribute("dots") ?? 0;
            var plain = new Fraction(1, int.Parse((string)element.Attribute("dur")!, CultureInfo.InvariantCulture));
            return plain * new Fraction((1L << (dots + 1)) - 1, 1L << dots);
        }
    }
}
