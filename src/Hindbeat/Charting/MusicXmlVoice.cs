using System.Globalization;
using System.Xml;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>Writes the notes and rests of one voice; element order as the schema's <c>note</c> type asks.</summary>
internal sealed class MusicXmlVoice(XmlWriter xml, Chart chart, ChartBar bar, long divisions)
{
    /// <summary>A velocity of 90 is forte, 100 % of the dynamics attribute (MusicXML 4.0, "dynamics" of note).</summary>
    private const double ForteVelocity = 90.0;

    public void Write(ChartVoice voice, int number)
    {
        Dictionary<int, List<(int Level, string Word)>> beams = Beams(voice);
        for (int i = 0; i < voice.Events.Count; i++)
        {
            ChartEvent happening = voice.Events[i];
            Tuplet? tuplet = voice.Tuplets.FirstOrDefault(candidate => candidate.First <= i && i <= candidate.Last);
            if (happening.IsRest)
                WriteRest(happening, number, tuplet, i);
            foreach (ChartNote note in happening.Notes)
                WriteGraces(note, number);
            for (int n = 0; n < happening.Notes.Count; n++)
                WriteNote(happening, happening.Notes[n], n > 0, number, tuplet, i, n == 0 ? beams.GetValueOrDefault(i) : null);
        }
    }

    private void WriteRest(ChartEvent rest, int voice, Tuplet? tuplet, int index)
    {
        xml.WriteStartElement("note");
        if (rest.Hidden)
            xml.WriteAttributeString("print-object", "no");
        xml.WriteStartElement("rest");
        if (rest.FillsBar)
            xml.WriteAttributeString("measure", "yes");
        xml.WriteEndElement();
        xml.WriteElementString("duration", DurationOf(rest.Length));
        xml.WriteElementString("voice", MusicXmlFile.Whole(voice));
        if (!rest.FillsBar)
            WriteValue(rest.Value, tuplet);
        WriteTupletNotation(tuplet, index);
        xml.WriteEndElement();
    }

    private void WriteGraces(ChartNote note, int voice)
    {
        foreach (GraceNote grace in note.Graces)
        {
            xml.WriteStartElement("note");
            WriteLoudness(grace.Velocity);
            xml.WriteStartElement("grace");
            if (note.Graces.Count == 1)
                xml.WriteAttributeString("slash", "yes");
            xml.WriteEndElement();
            WritePlace(grace.Piece);
            WriteInstrument(grace.Piece);
            xml.WriteElementString("voice", MusicXmlFile.Whole(voice));
            xml.WriteElementString("type", note.Graces.Count == 1 ? "eighth" : "16th");
            xml.WriteElementString("stem", "up");
            WriteHead(chart.Staff.Place(grace.Piece).Head, parenthesised: false);
            xml.WriteEndElement();
        }
    }

    private void WriteNote(ChartEvent happening, ChartNote note, bool inChord, int voice, Tuplet? tuplet, int index, List<(int Level, string Word)>? beams)
    {
        xml.WriteStartElement("note");
        WriteLoudness(note.Velocity);
        WritePlayedShift(note.Deviation);
        if (inChord)
            xml.WriteElementString("chord", "");
        WritePlace(note.Piece);
        xml.WriteElementString("duration", DurationOf(happening.Length));
        WriteInstrument(note.Piece);
        xml.WriteElementString("voice", MusicXmlFile.Whole(voice));
        WriteValue(happening.Value, tuplet);
        xml.WriteElementString("stem", happening.Value.Halvings == 0 ? "none" : voice == 1 ? "up" : "down");
        WriteHead(chart.Staff.HeadOf(note.Piece, note.Marks), note.Marks.HasFlag(HitMarks.Ghost));
        foreach ((int level, string word) in beams ?? [])
        {
            xml.WriteStartElement("beam");
            xml.WriteAttributeString("number", MusicXmlFile.Whole(level));
            xml.WriteString(word);
            xml.WriteEndElement();
        }

        WriteNotations(note, inChord ? null : tuplet, index);
        xml.WriteEndElement();
    }

    private void WriteNotations(ChartNote note, Tuplet? tuplet, int index)
    {
        bool tupletEnd = tuplet is not null && (tuplet.First == index || tuplet.Last == index);
        bool halfOpen = HatMarks.IsHalfOpen(note);
        bool open = note.Piece == KitPiece.HatOpen && !halfOpen;
        bool accent = note.Marks.HasFlag(HitMarks.Accent);
        bool buzz = note.Marks.HasFlag(HitMarks.Buzz);
        bool choke = note.Marks.HasFlag(HitMarks.Choke);
        if (!tupletEnd && !open && !halfOpen && !accent && !buzz && !choke)
            return;
        xml.WriteStartElement("notations");
        if (tupletEnd)
            WriteTupletMark(tuplet!, index);
        if (buzz)
        {
            xml.WriteStartElement("ornaments");
            xml.WriteStartElement("tremolo");
            xml.WriteAttributeString("type", "unmeasured");
            xml.WriteString("0");
            xml.WriteEndElement();
            xml.WriteEndElement();
        }

        if (open || halfOpen || choke)
        {
            xml.WriteStartElement("technical");
            if (open)
                xml.WriteElementString("open", "");
            if (halfOpen)
            {
                xml.WriteStartElement("other-technical");
                xml.WriteAttributeString("smufl", "pictHalfOpen1");
                xml.WriteString("half-open");
                xml.WriteEndElement();
            }

            if (choke)
                xml.WriteElementString("other-technical", "choke");
            xml.WriteEndElement();
        }

        if (accent)
        {
            xml.WriteStartElement("articulations");
            xml.WriteElementString("accent", "");
            xml.WriteEndElement();
        }

        xml.WriteEndElement();
    }

    private void WriteTupletNotation(Tuplet? tuplet, int index)
    {
        if (tuplet is null || (tuplet.First != index && tuplet.Last != index))
            return;
        xml.WriteStartElement("notations");
        WriteTupletMark(tuplet, index);
        xml.WriteEndElement();
    }

    private void WriteTupletMark(Tuplet tuplet, int index)
    {
        if (tuplet.First == index)
            WriteMark("start");
        if (tuplet.Last == index)
            WriteMark("stop");

        void WriteMark(string type)
        {
            xml.WriteStartElement("tuplet");
            xml.WriteAttributeString("type", type);
            xml.WriteEndElement();
        }
    }

    private void WriteValue(NoteValue value, Tuplet? tuplet)
    {
        xml.WriteElementString("type", MusicXmlFile.TypeName(value));
        for (int dot = 0; dot < value.Dots; dot++)
            xml.WriteElementString("dot", "");
        if (tuplet is null)
            return;
        xml.WriteStartElement("time-modification");
        xml.WriteElementString("actual-notes", MusicXmlFile.Whole(tuplet.Actual));
        xml.WriteElementString("normal-notes", MusicXmlFile.Whole(tuplet.Normal));
        if (tuplet.Unit != value)
        {
            xml.WriteElementString("normal-type", MusicXmlFile.TypeName(tuplet.Unit));
            for (int dot = 0; dot < tuplet.Unit.Dots; dot++)
                xml.WriteElementString("normal-dot", "");
        }

        xml.WriteEndElement();
    }

    private void WritePlace(KitPiece piece)
    {
        StaffPlace place = chart.Staff.Place(piece);
        xml.WriteStartElement("unpitched");
        xml.WriteElementString("display-step", place.Step.ToString());
        xml.WriteElementString("display-octave", MusicXmlFile.Whole(place.Octave));
        xml.WriteEndElement();
    }

    private void WriteInstrument(KitPiece piece)
    {
        xml.WriteStartElement("instrument");
        xml.WriteAttributeString("id", MusicXmlFile.InstrumentId(piece));
        xml.WriteEndElement();
    }

    private void WriteHead(Head head, bool parenthesised)
    {
        string? shape = head switch
        {
            Head.Cross => "x",
            Head.Diamond => "diamond",
            Head.CircledCross => "circle-x",
            Head.Triangle => "triangle",
            Head.Slashed => "slashed",
            _ => null,
        };
        if (shape is null && !parenthesised)
            return;
        xml.WriteStartElement("notehead");
        if (parenthesised)
            xml.WriteAttributeString("parentheses", "yes");
        xml.WriteString(shape ?? "normal");
        xml.WriteEndElement();
    }

    private void WriteLoudness(int velocity) =>
        xml.WriteAttributeString("dynamics", MusicXmlFile.Number(velocity / ForteVelocity * 100.0, "0.##"));

    /// <summary>The played shift in divisions, positive = late, as the <c>attack</c> attribute has it.</summary>
    private void WritePlayedShift(Seconds deviation)
    {
        double quarters = PlayedPlaces.WholeNotes(chart, bar.Meter, deviation) * 4.0;
        string text = MusicXmlFile.Number(quarters * divisions, "0.####");
        if (text is not ("0" or "-0"))
            xml.WriteAttributeString("attack", text);
    }

    private string DurationOf(Fraction length) =>
        (length * 4 * new Fraction(divisions)).Numerator.ToString(CultureInfo.InvariantCulture);

    private static Dictionary<int, List<(int Level, string Word)>> Beams(ChartVoice voice)
    {
        var beams = new Dictionary<int, List<(int Level, string Word)>>();
        foreach (BeamRun run in voice.Beams)
        {
            foreach (BeamPiece piece in BeamLevels.Of(voice, run).OrderBy(piece => piece.Level))
            {
                for (int i = piece.First; i <= piece.Last; i++)
                {
                    if (voice.Events[i].IsRest)
                        continue;
                    string word = piece.Hook > 0 ? "forward hook"
                        : piece.Hook < 0 ? "backward hook"
                        : i == piece.First ? "begin"
                        : i == piece.Last ? "end"
                        : "continue";
                    if (!beams.TryGetValue(i, out List<(int Level, string Word)>? list))
                        beams.Add(i, list = []);
                    list.Add((piece.Level, word));
                }
            }
        }

        return beams;
    }
}
