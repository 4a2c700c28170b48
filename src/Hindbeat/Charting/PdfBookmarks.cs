using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;

namespace Hindbeat.Charting;

/// <param name="Page">From 0.</param>
/// <param name="Top">Points from the page's lower edge.</param>
internal sealed record PdfBookmark(string Name, int Page, double Top);

/// <summary>
/// Adds an outline (the bookmarks that readers list beside the pages) to a finished PDF, as an incremental update: the file stays
/// as it is, and behind it follow the outline's objects, the catalog with a reference to it, and a second cross-reference
/// table. ISO 32000-1:2008, 7.5.6 (updates), 12.3.3 (outlines) and 12.3.2.2 (destinations).
/// </summary>
/// <remarks>Skia draws the pages but its bookmarks need a tagged document. The update relies on what Skia writes: plain objects and a plain cross-reference table.</remarks>
internal static partial class PdfBookmarks
{
    public static byte[] Add(byte[] pdf, IReadOnlyList<PdfBookmark> marks)
    {
        if (marks.Count == 0)
            return pdf;
        string text = Encoding.Latin1.GetString(pdf);
        int trailerAt = text.LastIndexOf("trailer", StringComparison.Ordinal);
        string trailer = text[trailerAt..];
        int size = Number(SizeEntry().Match(trailer));
        int root = Number(RootEntry().Match(trailer));
        string catalog = ObjectText(text, root);
        List<int> pages = PagesUnder(text, Number(PagesEntry().Match(catalog)));

        var update = new StringBuilder();
        var offsets = new List<(int Object, long Offset)>();
        void Object(int number, string body)
        {
            offsets.Add((number, pdf.Length + update.Length));
            update.Append(CultureInfo.InvariantCulture, $"{number} 0 obj\n{body}\nendobj\n");
        }

        update.Append('\n');
        int outline = size;
        Object(root, catalog.Insert(catalog.IndexOf("<<", StringComparison.Ordinal) + 2, Text($"/Outlines {outline} 0 R\n/PageMode /UseOutlines\n")));
        Object(outline, Text($"<</Type /Outlines /First {outline + 1} 0 R /Last {outline + marks.Count} 0 R /Count {marks.Count}>>"));
        for (int i = 0; i < marks.Count; i++)
        {
            int number = outline + 1 + i;
            string before = i == 0 ? "" : Text($" /Prev {number - 1} 0 R");
            string after = i + 1 == marks.Count ? "" : Text($" /Next {number + 1} 0 R");
            Object(number, Text($"<</Title <FEFF{Convert.ToHexString(Encoding.BigEndianUnicode.GetBytes(marks[i].Name))}> /Parent {outline} 0 R{before}{after} /Dest [{pages[marks[i].Page]} 0 R /XYZ null {marks[i].Top:0.##} null]>>"));
        }

        long table = pdf.Length + update.Length;
        update.Append("xref\n");
        foreach ((int number, long offset) in offsets)
            update.Append(CultureInfo.InvariantCulture, $"{number} 1\n{offset:0000000000} 00000 n \n");
        string previous = StartEntry().Match(trailer).Groups[1].Value;
        string dictionary = trailer[(trailer.IndexOf("<<", StringComparison.Ordinal) + 2)..trailer.LastIndexOf(">>", StringComparison.Ordinal)];
        dictionary = SizeEntry().Replace(dictionary, Text($"/Size {size + 1 + marks.Count}"), 1);
        update.Append(CultureInfo.InvariantCulture, $"trailer\n<<{dictionary}\n/Prev {previous}>>\nstartxref\n{table}\n%%EOF\n");
        return [.. pdf, .. Encoding.Latin1.GetBytes(update.ToString())];
    }

    /// <summary>The page objects of a page tree, in order.</summary>
    private static List<int> PagesUnder(string pdf, int node)
    {
        string body = ObjectText(pdf, node);
        if (!body.Contains("/Kids", StringComparison.Ordinal))
            return [node];
        string kids = KidsEntry().Match(body).Groups[1].Value;
        return [.. Reference().Matches(kids).SelectMany(kid => PagesUnder(pdf, Number(kid)))];
    }

    private static string ObjectText(string pdf, int number)
    {
        string head = Text($"\n{number} 0 obj");
        int start = pdf.LastIndexOf(head, StringComparison.Ordinal);
        int end = start < 0 ? -1 : pdf.IndexOf("endobj", start, StringComparison.Ordinal);
        return end < 0 ? throw new InvalidOperationException($"The PDF has no object {number}.") : pdf[(start + head.Length)..end].Trim();
    }

    private static int Number(Match match) => match.Success
        ? int.Parse(match.Groups[1].Value, CultureInfo.InvariantCulture)
        : throw new InvalidOperationException("The PDF is not built as expected.");

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);

    [GeneratedRegex(@"/Size (\d+)")]
    private static partial Regex SizeEntry();

    [GeneratedRegex(@"/Root (\d+) 0 R")]
    private static partial Regex RootEntry();

    [GeneratedRegex(@"/Pages (\d+) 0 R")]
    private static partial Regex PagesEntry();

    [GeneratedRegex(@"/Kids \[([^\]]*)\]")]
    private static partial Regex KidsEntry();

    [GeneratedRegex(@"(\d+) 0 R")]
    private static partial Regex Reference();

    [GeneratedRegex(@"startxref\s+(\d+)")]
    private static partial Regex StartEntry();
}
