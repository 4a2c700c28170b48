using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;
using Hindbeat.Charting;
using static Hindbeat.Tests.Charting.WrittenPassages;

namespace Hindbeat.Tests.Charting;

/// <summary>The bookmarks of a PDF, read by the rules of ISO 32000-1:2008 and not by our own writer.</summary>
public partial class PdfPagesTests
{
    [Fact]
    public void Every_system_has_a_bookmark_that_leads_to_its_page()
    {
        IReadOnlyList<DisplayPage> pages = Engraver.Engrave(Written(Typed("4/4", 100, 60, ("hat-closed", "0 1/4 1/2 3/4 1 5/4 3/2 7/4 2 9/4 5/2 11/4 3"), ("kick", "0 2"))), PageFormat.A4);
        Assert.True(pages.Count > 1);
        using var stream = new MemoryStream();
        PdfPages.Write(pages, stream);
        string pdf = Encoding.Latin1.GetString(stream.ToArray());

        // 7.5.5: the last startxref gives the newest table, whose trailer's /Prev leads to the one before.
        var objects = new Dictionary<int, int>();
        string newest = "";
        int at = int.Parse(LastStart().Matches(pdf)[^1].Groups[1].Value, CultureInfo.InvariantCulture);
        while (true)
        {
            Assert.StartsWith("xref", pdf[at..], StringComparison.Ordinal);
            int end = pdf.IndexOf("trailer", at, StringComparison.Ordinal);
            int number = 0;
            foreach (string line in pdf[(at + 4)..end].Split('\n', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries))
            {
                string[] words = line.Split(' ');
                if (words.Length == 2)
                    number = int.Parse(words[0], CultureInfo.InvariantCulture);
                else if (words[2] == "n")
                    objects.TryAdd(number++, int.Parse(words[0], CultureInfo.InvariantCulture));
                else
                    number++;
            }

            string trailer = pdf[end..pdf.IndexOf("startxref", end, StringComparison.Ordinal)];
            newest = newest.Length == 0 ? trailer : newest;
            Match previous = Previous().Match(trailer);
            if (!previous.Success)
                break;
            at = int.Parse(previous.Groups[1].Value, CultureInfo.InvariantCulture);
        }

        string Object(string number)
        {
            int start = objects[int.Parse(number, CultureInfo.InvariantCulture)];
            Assert.StartsWith($"{number} 0 obj", pdf[start..], StringComparison.Ordinal);
            return pdf[start..pdf.IndexOf("endobj", start, StringComparison.Ordinal)];
        }

        string Reference(string body, string key) => Regex.Match(body, $@"/{key} (\d+) 0 R").Groups[1].Value;
        string catalog = Object(Reference(newest, "Root"));
        string outline = Object(Reference(catalog, "Outlines"));
        var names = new List<string>();
        var targets = new List<string>();
        for (string item = Reference(outline, "First"); item.Length > 0; item = Reference(Object(item), "Next"))
        {
            string body = Object(item);
            names.Add(Encoding.BigEndianUnicode.GetString(Convert.FromHexString(Title().Match(body).Groups[1].Value)));
            targets.Add(Regex.Match(body, @"/Dest \[(\d+) 0 R").Groups[1].Value);
            Assert.Contains("/Type /Page\n", Object(targets[^1]).Replace("/Page/", "/Page\n", StringComparison.Ordinal), StringComparison.Ordinal);
        }

        Assert.Equal(pages.SelectMany(page => page.Bookmarks).Select(mark => mark.Name), names);
        Assert.Equal(pages.Count, targets.Distinct().Count());
        Assert.Equal("Key", names[^1]);
        Assert.StartsWith("Bars 1 to ", names[0], StringComparison.Ordinal);
    }

    [GeneratedRegex(@"startxref\s+(\d+)")]
    private static partial Regex LastStart();

    [GeneratedRegex(@"/Prev (\d+)")]
    private static partial Regex Previous();

    [GeneratedRegex(@"/Title <FEFF([0-9A-F]+)>")]
    private static partial Regex Title();
}
