using System.Globalization;
using System.Text;
using System.Xml;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>
/// Writes a chart as MusicXML 4.0 (W3C Music Notation Community Group), score-partwise: one percussion part
/// of two voices, unpitched notes with an instrument a piece.
/// </summary>
public static class MusicXmlFile
{
    private const string PartId = "P1";

    /// <summary>Above this each bar gets divisions of its own: some programs keep durations in 32 bits.</summary>
    private const long MostCommonDivisions = 1_000_000;

    public static void Write(Chart chart, Stream stream)
    {
        ArgumentNullException.ThrowIfNull(chart);
        ArgumentNullException.ThrowIfNull(stream);
        var settings = new XmlWriterSettings { Indent = true, Encoding = new UTF8Encoding(false), CloseOutput = false };
        using XmlWriter xml = XmlWriter.Create(stream, settings);
        xml.WriteStartElement("score-partwise");
        xml.WriteAttributeString("version", "4.0");
        xml.WriteStartElement("work");
        xml.WriteElementString("work-title", chart.Title);
        xml.WriteEndElement();
        KitPiece[] pieces = [.. chart.Notes().Select(note => note.Piece).Distinct().Order()];
        WritePartList(xml, pieces);

        xml.WriteStartElement("part");
        xml.WriteAttributeString("id", PartId);
        long common = Divisions(chart.Bars);
        long written = 0;
        for (int i = 0; i < chart.Bars.Count; i++)
        {
            long divisions = common <= MostCommonDivisions ? common : Divisions([chart.Bars[i]]);
            WriteBar(xml, chart, i, divisions, divisions != written);
            written = divisions;
        }

        xml.WriteEndElement();
        xml.WriteEndElement();
    }

    internal static string InstrumentId(KitPiece piece) => $"{PartId}-{piece.Id()}";

    private static void WritePartList(XmlWriter xml, KitPiece[] pieces)
    {
        xml.WriteStartElement("part-list");
        xml.WriteStartElement("score-part");
        xml.WriteAttributeString("id", PartId);
        xml.WriteElementString("part-name", "Drum set");
        foreach (KitPiece piece in pieces)
        {
            xml.WriteStartElement("score-instrument");
            xml.WriteAttributeString("id", InstrumentId(piece));
            xml.WriteElementString("instrument-name", piece.Name());
            xml.WriteEndElement();
        }

        foreach (KitPiece piece in pieces)
        {
            xml.WriteStartElement("midi-instrument");
            xml.WriteAttributeString("id", InstrumentId(piece));
            xml.WriteElementString("midi-channel", "10");

            // MusicXML counts keys from 1, General MIDI from 0.
            xml.WriteElementString("midi-unpitched", Whole(piece.GeneralMidiKey() + 1));
            xml.WriteEndElement();
        }

        xml.WriteEndElement();
        xml.WriteEndElement();
    }

    /// <summary>Divisions of a quarter that hold every length of the bars exactly.</summary>
    private static long Divisions(IReadOnlyList<ChartBar> bars)
    {
        long common = 1;
        foreach (ChartEvent happening in bars.SelectMany(bar => bar.Voices).SelectMany(voice => voice.Events))
        {
            long denominator = (happening.Length * 4).Denominator;
            long a = common;
            long b = denominator;
            while (b != 0)
                (a, b) = (b, a % b);
            common = checked(common / a * denominator);
        }

        return common;
    }

    private static void WriteBar(XmlWriter xml, Chart chart, int index, long divisions, bool newDivisions)
    {
        ChartBar bar = chart.Bars[index];
        xml.WriteStartElement("measure");
        xml.WriteAttributeString("number", Whole(bar.Number));
        if (bar.IsPickup)
            xml.WriteAttributeString("implicit", "yes");
        bool newMeter = index > 0 && bar.Meter != chart.Bars[index - 1].Meter;
        if (newDivisions || newMeter)
            WriteAttributes(xml, index == 0 || newMeter ? bar.Meter : null, divisions, index == 0);
        if (index == 0)
        {
            WriteTempo(xml, chart);
            if (chart.Swing is not null)
                WriteSwing(xml, chart.Swing);
        }

        if (bar.RepeatBegins)
            WriteBarline(xml, "left", "heavy-light", "forward", 1);
        var voices = new MusicXmlVoice(xml, chart, bar, divisions);
        voices.Write(bar.Hands, 1);
        xml.WriteStartElement("backup");
        xml.WriteElementString("duration", Whole((bar.Length * 4 * new Fraction(divisions)).Numerator));
        xml.WriteEndElement();
        voices.Write(bar.Feet, 2);
        if (bar.RepeatTimes > 1)
            WriteBarline(xml, "right", "light-heavy", "backward", bar.RepeatTimes);
        else if (index == chart.Bars.Count - 1)
            WriteBarline(xml, "right", "light-heavy", null, 1);

        xml.WriteEndElement();
    }

    private static void WriteBarline(XmlWriter xml, string side, string style, string? repeat, int times)
    {
        xml.WriteStartElement("barline");
        xml.WriteAttributeString("location", side);
        xml.WriteElementString("bar-style", style);
        if (repeat is not null)
        {
            xml.WriteStartElement("repeat");
            xml.WriteAttributeString("direction", repeat);
            if (times > 1)
                xml.WriteAttributeString("times", Whole(times));
            xml.WriteEndElement();
        }

        xml.WriteEndElement();
    }

    private static void WriteAttributes(XmlWriter xml, Meter? meter, long divisions, bool clef)
    {
        xml.WriteStartElement("attributes");
        xml.WriteElementString("divisions", Whole(divisions));
        if (meter is { } signature)
        {
            xml.WriteStartElement("time");
            xml.WriteElementString("beats", Whole(signature.Numerator));
            xml.WriteElementString("beat-type", Whole(signature.Denominator));
            xml.WriteEndElement();
        }

        if (clef)
        {
            xml.WriteStartElement("clef");
            xml.WriteElementString("sign", "percussion");
            xml.WriteEndElement();
        }

        xml.WriteEndElement();
    }

    private static void WriteTempo(XmlWriter xml, Chart chart)
    {
        Meter meter = chart.Bars[0].Meter;
        NoteValue beat = NoteValue.Exactly(meter.BeatLength) ?? throw new InvalidOperationException($"The beat of {meter} has no note value.");
        xml.WriteStartElement("direction");
        xml.WriteAttributeString("placement", "above");
        xml.WriteStartElement("direction-type");
        xml.WriteStartElement("metronome");
        xml.WriteElementString("beat-unit", TypeName(beat));
        for (int dot = 0; dot < beat.Dots; dot++)
            xml.WriteElementString("beat-unit-dot", "");
        xml.WriteElementString("per-minute", Number(chart.Tempo.Value, "0.##"));
        xml.WriteEndElement();
        xml.WriteEndElement();
        xml.WriteStartElement("sound");
        xml.WriteAttributeString("tempo", Number(chart.Tempo.Value * meter.BeatLength.ToDouble() * 4.0, "0.####"));
        xml.WriteEndElement();
        xml.WriteEndElement();
    }

    private static void WriteSwing(XmlWriter xml, SwingDirection swing)
    {
        xml.WriteStartElement("direction");
        xml.WriteAttributeString("placement", "above");
        xml.WriteStartElement("direction-type");
        xml.WriteElementString("words", swing.ToString());
        xml.WriteEndElement();
        xml.WriteStartElement("sound");
        xml.WriteStartElement("swing");
        (int first, int second) = WholeRatio(swing.Ratio);
        xml.WriteElementString("first", Whole(first));
        xml.WriteElementString("second", Whole(second));
        xml.WriteElementString("swing-type", swing.Level == SwingLevel.Eighth ? "eighth" : "16th");
        xml.WriteEndElement();
        xml.WriteEndElement();
        xml.WriteEndElement();
    }

    /// <summary>The whole numbers up to 50 whose ratio lies nearest: the element takes integers only (1.2 : 1 = 6 : 5).</summary>
    internal static (int First, int Second) WholeRatio(double ratio)
    {
        (int First, int Second) best = (1, 1);
        double error = double.PositiveInfinity;
        for (int second = 1; second <= 50; second++)
        {
            int first = Math.Max(1, (int)Math.Round(ratio * second));
            double miss = Math.Abs(((double)first / second) - ratio);
            if (miss < error - 1e-9)
                (best, error) = ((first, second), miss);
        }

        return best;
    }

    internal static string TypeName(NoteValue value) => value.Halvings switch
    {
        0 => "whole",
        1 => "half",
        2 => "quarter",
        3 => "eighth",
        5 => "32nd",
        _ => Whole(1 << value.Halvings) + "th",
    };

    internal static string Whole(long number) => number.ToString(CultureInfo.InvariantCulture);

    internal static string Number(double number, string format) => number.ToString(format, CultureInfo.InvariantCulture);
}
