using System.Globalization;
using System.Text;
using System.Xml;
using SkiaSharp;

namespace Hindbeat.Charting;

/// <summary>
/// Writes a page as SVG 1.1: text and glyphs as outlines, so that it looks the same without any font; one
/// group a stroke with its hit's index in <c>data-hit</c> and its name in words; the view box in millimetres.
/// </summary>
public static class SvgPage
{
    /// <param name="idStart">Starts every id in the file, so that several pages can stand in one document.</param>
    public static void Write(DisplayPage page, TextWriter writer, string idStart = "hb")
    {
        ArgumentNullException.ThrowIfNull(page);
        ArgumentNullException.ThrowIfNull(writer);
        using XmlWriter xml = XmlWriter.Create(writer, new XmlWriterSettings { OmitXmlDeclaration = true, Indent = true, IndentChars = " ", CloseOutput = false });
        string id = $"{idStart}{page.Number}";
        xml.WriteStartElement("svg", "http://www.w3.org/2000/svg");
        xml.WriteAttributeString("viewBox", Text($"0 0 {page.Width:0.###} {page.Height:0.###}"));
        xml.WriteAttributeString("width", Text($"{page.Width:0.###}mm"));
        xml.WriteAttributeString("height", Text($"{page.Height:0.###}mm"));
        xml.WriteAttributeString("role", "img");
        xml.WriteAttributeString("aria-labelledby", $"{id}-title {id}-desc");
        WriteNamed(xml, "title", $"{id}-title", page.PageCount > 1 ? Text($"{page.Title}, page {page.Number} of {page.PageCount}") : page.Title);
        WriteNamed(xml, "desc", $"{id}-desc", page.Description);
        WriteGlyphs(xml, page, id);
        if (page.Ink.Paper is { } paper)
        {
            xml.WriteStartElement("rect");
            xml.WriteAttributeString("class", "paper");
            xml.WriteAttributeString("width", Text($"{page.Width:0.###}"));
            xml.WriteAttributeString("height", Text($"{page.Height:0.###}"));
            xml.WriteAttributeString("fill", paper);
            xml.WriteEndElement();
        }

        xml.WriteStartElement("g");
        xml.WriteAttributeString("fill", page.Ink.Ink);
        foreach (DisplayItem item in page.Items.Where(item => item.Hit is null))
            WriteItem(xml, page, item, id);
        foreach (IGrouping<int, DisplayItem> stroke in page.Items.Where(item => item.Hit is not null).GroupBy(item => item.Hit!.Value))
        {
            xml.WriteStartElement("g");
            xml.WriteAttributeString("class", "stroke");
            xml.WriteAttributeString("data-hit", stroke.Key.ToString(CultureInfo.InvariantCulture));
            if (page.StrokeNames.TryGetValue(stroke.Key, out string? name))
                xml.WriteElementString("title", name);
            foreach (DisplayItem item in stroke)
                WriteItem(xml, page, item, id);
            xml.WriteEndElement();
        }

        xml.WriteEndElement();
        xml.WriteEndElement();
    }

    private static void WriteNamed(XmlWriter xml, string element, string id, string text)
    {
        xml.WriteStartElement(element);
        xml.WriteAttributeString("id", id);
        xml.WriteString(text);
        xml.WriteEndElement();
    }

    /// <summary>Each glyph's outline once; the notes refer to it.</summary>
    private static void WriteGlyphs(XmlWriter xml, DisplayPage page, string id)
    {
        xml.WriteStartElement("defs");
        foreach (int code in page.Items.OfType<GlyphItem>().Select(glyph => glyph.Codepoint).Distinct().Order())
        {
            xml.WriteStartElement("path");
            xml.WriteAttributeString("id", Text($"{id}-{code:x}"));
            xml.WriteAttributeString("d", PathData(MusicFont.Outline(code), 1, 0, 0, "0.####"));
            xml.WriteEndElement();
        }

        xml.WriteEndElement();
    }

    private static void WriteItem(XmlWriter xml, DisplayPage page, DisplayItem item, string id)
    {
        switch (item)
        {
            case GlyphItem glyph:
                xml.WriteStartElement("use");
                xml.WriteAttributeString("href", Text($"#{id}-{glyph.Codepoint:x}"));
                xml.WriteAttributeString("transform", Text($"translate({glyph.X:0.###} {glyph.Y:0.###}) scale({glyph.Em:0.####})"));
                break;
            case LineItem line:
                xml.WriteStartElement("path");
                xml.WriteAttributeString("fill", "none");
                xml.WriteAttributeString("stroke", item.Role == InkRole.Measure ? page.Ink.Accent : page.Ink.Ink);
                xml.WriteAttributeString("stroke-width", Text($"{line.Thickness:0.###}"));
                xml.WriteAttributeString("d", Text($"M{line.X1:0.###} {line.Y1:0.###}L{line.X2:0.###} {line.Y2:0.###}"));
                break;
            case BeamItem beam:
                xml.WriteStartElement("path");
                xml.WriteAttributeString("d", Text($"M{beam.X1:0.###} {beam.Y1:0.###}L{beam.X2:0.###} {beam.Y2:0.###}V{beam.Y2 + beam.Thickness:0.###}L{beam.X1:0.###} {beam.Y1 + beam.Thickness:0.###}Z"));
                break;
            case TextItem text:
                xml.WriteStartElement("path");
                using (SKPath outline = TextFont.Outline(text.Text, text.Cut))
                    xml.WriteAttributeString("d", PathData(outline, text.Em, text.X, text.Y, "0.###"));
                // A name without a role is no name to a screen reader.
                xml.WriteAttributeString("role", "img");
                xml.WriteAttributeString("aria-label", text.Text);
                break;
            default:
                throw new InvalidOperationException($"No way to draw a {item.GetType().Name}.");
        }

        xml.WriteAttributeString("class", ClassOf(item.Role));
        if (item.Role == InkRole.Measure && item is not LineItem)
            xml.WriteAttributeString("fill", page.Ink.Accent);
        xml.WriteEndElement();
    }

    private static string ClassOf(InkRole role) => role switch
    {
        InkRole.Staff => "staff",
        InkRole.Note => "note",
        InkRole.Rest => "rest",
        InkRole.Stem => "stem",
        InkRole.Beam => "beam",
        InkRole.Mark => "mark",
        InkRole.Tuplet => "tuplet",
        InkRole.Text => "text",
        _ => "measure",
    };

    /// <summary>Path data with few enough digits to keep a page small: 0.001 mm is far below what prints.</summary>
    private static string PathData(SKPath path, double scale, double dx, double dy, string format)
    {
        var data = new StringBuilder();
        using SKPath.RawIterator iterator = path.CreateRawIterator();
        var points = new SKPoint[4];
        SKPathVerb verb;
        while ((verb = iterator.Next(points)) != SKPathVerb.Done)
        {
            (char letter, int from, int count) = verb switch
            {
                SKPathVerb.Move => ('M', 0, 1),
                SKPathVerb.Line => ('L', 1, 1),
                SKPathVerb.Quad => ('Q', 1, 2),
                SKPathVerb.Cubic => ('C', 1, 3),
                SKPathVerb.Close => ('Z', 0, 0),
                _ => throw new InvalidOperationException("The font has an outline that SVG cannot draw."),
            };
            data.Append(letter);
            for (int i = from; i < from + count; i++)
            {
                data.Append(i > from ? " " : "")
                    .Append(((points[i].X * scale) + dx).ToString(format, CultureInfo.InvariantCulture)).Append(' ')
                    .Append(((points[i].Y * scale) + dy).ToString(format, CultureInfo.InvariantCulture));
            }
        }

        return data.ToString();
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
