using System.IO.Compression;
using System.Text;
using System.Text.Json;
using System.Text.RegularExpressions;
using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Handouts;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Tests.Handouts;

public partial class LessonTests
{
    private static readonly InventedPassage Passage = InventedPassage.Make(3);
    private static readonly FeelReport Feel = FeelAnalysis.Measure(Passage.Performance);
    private static readonly Lesson Plain = new("Late Tram Home", Passage.Performance, Feel, HouseKit.Load());

    [Fact]
    public void The_page_holds_everything_and_asks_for_nothing()
    {
        string page = Page(Plain with { Words = "# Listen\n\nTo the *kick*.", Credits = "Played by nobody." });
        Assert.InRange(Encoding.UTF8.GetByteCount(page), 100_000, LessonPage.MostBytes);
        // Every address in the document stays in it: fragments and the two namespaces of SVG.
        Assert.All(Address().Matches(page), match => Assert.True(match.Groups[1].Value.StartsWith('#') || match.Groups[1].Value.StartsWith("http://www.w3.org/", StringComparison.Ordinal), match.Value));
        Assert.Contains("default-src 'none'", page, StringComparison.Ordinal);
        // Ours, and the teacher's own a level below the title.
        Assert.Equal(2, Regex.Count(page, "<h2[^>]*>Listen</h2>"));
        Assert.Contains("Played by nobody.", page, StringComparison.Ordinal);
        Assert.Contains("pain", page, StringComparison.Ordinal);
    }

    [Fact]
    public void Ids_are_used_once()
    {
        string[] ids = [.. Id().Matches(Page(Plain)).Select(match => match.Groups[1].Value)];
        Assert.NotEmpty(ids);
        Assert.Equal(ids.Length, ids.Distinct().Count());
    }

    [Theory]
    [InlineData("<script>alert(1)</script>")]
    [InlineData("</script><img src=x onerror=alert(1)>")]
    [InlineData("\"><b>bold</b>")]
    public void Nothing_that_is_typed_becomes_part_of_the_page(string typed)
    {
        string page = Page(Plain with { Title = typed, Teacher = typed, Credits = typed, Words = typed, Versions = [new LessonPart(typed, Dials.AsPlayed)] });
        Assert.Equal(2, Regex.Count(page, "<script"));
        Assert.Equal(2, Regex.Count(page, "</script>"));
        Assert.DoesNotContain("<img", page, StringComparison.Ordinal);
        Assert.DoesNotContain("<b>", page, StringComparison.Ordinal);
    }

    [Fact]
    public void Every_version_sounds_every_stroke_when_the_rebuild_does()
    {
        using JsonDocument sound = SoundOf(Page(Plain));
        JsonElement[] versions = [.. sound.RootElement.GetProperty("versions").EnumerateArray()];
        Assert.Equal(Plain.Versions.Count, versions.Length);
        for (int v = 0; v < versions.Length; v++)
        {
            IReadOnlyList<PlannedStroke> plan = RebuildPlan.Make(Plain.Performance, Feel, Plain.Versions[v].Dials);
            double zero = RebuildTempo.PulseOf(Plain.Performance, Plain.Versions[v].Dials).Beats[0].Time.TotalSeconds;
            JsonElement[] strokes = [.. versions[v].GetProperty("strokes").EnumerateArray()];
            Assert.Equal(plan.Count, strokes.Length);
            for (int i = 0; i < plan.Count; i++)
            {
                Assert.Equal(i, strokes[i][0].GetInt32());
                Assert.InRange(strokes[i][1].GetDouble() - (plan[i].Time.TotalSeconds - zero), -1e-5, 1e-5);
            }
        }
    }

    [Fact]
    public void Versions_mixed_as_the_page_mixes_them_are_as_loud_as_one_another()
    {
        // ITU-R BS.1770 loudness; the tolerance is what tails cut for the page may take away.
        using JsonDocument sound = SoundOf(Page(Plain));
        double[] loudness = [.. sound.RootElement.GetProperty("versions").EnumerateArray().Select(version => Mixed(sound.RootElement, version))];
        Assert.All(loudness, lufs => Assert.InRange(lufs, loudness[0] - 0.1, loudness[0] + 0.1));
        // The target, or the highest below it at which no version's true peak passes −1 dBTP.
        Assert.InRange(loudness[0], -26, -22.9);
    }

    [Fact]
    public void Only_the_chosen_sections_are_there()
    {
        string page = Page(Plain with { Sections = LessonSections.Chart | LessonSections.Ladder });
        Assert.Contains("<h2>The chart</h2>", page, StringComparison.Ordinal);
        Assert.Contains("<h2>Practise</h2>", page, StringComparison.Ordinal);
        Assert.DoesNotContain("What was measured", page, StringComparison.Ordinal);
        Assert.DoesNotContain("lesson-sound", page, StringComparison.Ordinal);
        Assert.DoesNotContain("data-tempo", page, StringComparison.Ordinal);
    }

    [Fact]
    public void The_sheet_holds_chart_words_and_figures_and_keeps_inside_its_margins()
    {
        foreach (PageFormat format in new[] { PageFormat.A4, PageFormat.Letter })
        {
            IReadOnlyList<DisplayPage> pages = HandoutPdf.Pages(Plain with { Words = string.Join("\n\n", Enumerable.Repeat("A long paragraph of words that has to be wrapped at the measure, again and again.", 60)) }, format);
            Assert.True(pages.Count >= 5);
            Assert.Equal(Enumerable.Range(1, pages.Count), pages.Select(page => page.Number));
            Assert.All(pages.SelectMany(page => page.Items), item =>
            {
                Assert.InRange(item.Bounds.Left, 0, format.Width);
                Assert.InRange(item.Bounds.Right, 0, format.Width);
                Assert.InRange(item.Bounds.Bottom, 0, format.Height);
            });
        }

        using var pdf = new MemoryStream();
        HandoutPdf.Write(Plain, PageFormat.A4, pdf);
        Assert.StartsWith("%PDF-", Encoding.ASCII.GetString(pdf.ToArray(), 0, 5), StringComparison.Ordinal);
    }

    /// <summary>What a typesetter looks for (common practice, no source): the title once, numbers on every page, a table's head again, no row or line by itself.</summary>
    [Theory]
    [MemberData(nameof(AmountsOfWords))]
    public void The_sheet_is_broken_into_pages_as_a_typesetter_would(int paragraphs)
    {
        const string sentence = "A paragraph that is a few lines long, so that it may have to be broken where a page ends; what is left on either side should then be two lines or more, and it is.";
        Lesson lesson = Plain with { Words = "# Mine\n\n" + string.Join("\n\n", Enumerable.Repeat(sentence, paragraphs)), Credits = "Played by nobody." };
        IReadOnlyList<DisplayPage> pages = HandoutPdf.Pages(lesson, PageFormat.A4);
        TextItem[][] texts = [.. pages.Select(page => page.Items.OfType<TextItem>().ToArray())];
        for (int i = 0; i < pages.Count; i++)
            Assert.Single(texts[i], text => text.Text == FormattableString.Invariant($"{i + 1} / {pages.Count}"));
        Assert.Single(texts.SelectMany(page => page), text => text.Text == lesson.Title && text.Em > 5);
        foreach (TextItem[] page in texts.Where(page => page.Any(text => text.Text == "Interval")))
            Assert.True(page.Count(text => text.Text.Contains(" to ", StringComparison.Ordinal) && text.Em < 3.7 && text.Text.Length < 20) >= 3);
        // Body lines by page, from top to bottom: neither a paragraph's first line at the foot nor its last at the head.
        string[][] lines = [.. texts.Select(page => page.Where(text => Math.Abs(text.Em - 3.9) < 0.01).OrderBy(text => text.Y).Select(text => text.Text.Trim()).ToArray())];
        for (int i = 0; i + 1 < lines.Length; i++)
        {
            if (lines[i].Length == 0 || lines[i + 1].Length == 0)
                continue;
            Assert.False(lines[i][^1].StartsWith("A paragraph that", StringComparison.Ordinal));
            Assert.False(lines[i + 1][0].EndsWith("and it is.", StringComparison.Ordinal));
        }
    }

    public static TheoryData<int> AmountsOfWords() => [.. Enumerable.Range(1, 24)];

    [Fact]
    public void Words_in_Markdown_are_set_on_paper_too()
    {
        const string words = "# Mine\n\nListen to the **kick**, *then* play.\n\n1. first\n2. second\n\n| bar | what |\n|---|---|\n| 1 | groove |\n\n> slowly\n\nA [link](https://example.org).";
        TextItem[] texts = [.. HandoutPdf.Pages(Plain with { Words = words, Sections = LessonSections.Words }, PageFormat.A4).SelectMany(page => page.Items).OfType<TextItem>()];
        Assert.DoesNotContain(texts, text => text.Text.Contains('|') || text.Text.Contains('*') || text.Text.Contains('#'));
        Assert.Contains(texts, text => text.Text.Trim() == "kick" && text.Cut == TextCut.SemiBold);
        Assert.Contains(texts, text => text.Text.Trim() == "then" && text.Cut == TextCut.Italic);
        TextItem number = Assert.Single(texts, text => text.Text == "2."), second = Assert.Single(texts, text => text.Text == "second");
        Assert.Equal(number.Y, second.Y);
        Assert.True(number.X < second.X);
        Assert.Equal(Assert.Single(texts, text => text.Text == "1").Y, Assert.Single(texts, text => text.Text == "groove").Y);
        // Paper cannot be clicked on.
        Assert.Contains(texts, text => text.Text.Contains("https://example.org", StringComparison.Ordinal));
    }

    [Fact]
    public void The_pack_holds_all_of_it_and_no_recording_unless_asked()
    {
        string recording = Path.GetTempFileName();
        File.WriteAllText(recording, "sound");
        try
        {
            using ZipArchive without = Pack(null), with = Pack(recording);
            string[] names = [.. without.Entries.Select(entry => entry.FullName)];
            foreach (string name in new[] { "lesson.html", "handout.pdf", "chart.musicxml", "as-written.mid", "as-played.mid", "figures.csv", "figures.json", "README.txt", "sound/1-straight.wav" })
                Assert.Contains(name, names);
            Assert.DoesNotContain(names, name => name.StartsWith("recording", StringComparison.Ordinal));
            Assert.Single(with.Entries, entry => entry.FullName.StartsWith("recording", StringComparison.Ordinal));
            Assert.All(without.Entries, entry => Assert.True(entry.Length > 0, entry.FullName));
        }
        finally
        {
            File.Delete(recording);
        }
    }

    [Fact]
    public void Figures_go_through_a_strict_reader_of_comma_separated_values()
    {
        // RFC 4180: CRLF line ends, quotes around fields with commas, quotes doubled.
        var writer = new StringWriter();
        FiguresCsv.Write(Feel, writer);
        string[] rows = writer.ToString().Split("\r\n");
        Assert.Equal(FiguresCsv.Header, rows[0]);
        Assert.Equal("", rows[^1]);
        int columns = FiguresCsv.Header.Split(',').Length;
        Assert.All(rows[1..^1], row => Assert.Equal(columns, Fields(row).Count));
        Assert.Equal(FeelFigures.All.Sum(kind => kind.Lines(Feel).Count()), rows.Length - 2);
        Assert.Equal("\"a,\"\"b\"\"\"", FiguresCsv.Field("a,\"b\""));
    }

    [Fact]
    public void A_passage_without_strokes_is_refused() =>
        Assert.Throws<InputException>(() => Page(Plain with { Performance = new Performance(Passage.Performance.Pulse, []) }));

    private static string Page(Lesson lesson)
    {
        var writer = new StringWriter();
        LessonPage.Write(lesson, writer);
        return writer.ToString();
    }

    private static ZipArchive Pack(string? recording)
    {
        var stream = new MemoryStream();
        HandoutPack.Write(Plain, PageFormat.A4, "{}", recording, stream);
        stream.Position = 0;
        return new ZipArchive(stream);
    }

    private static JsonDocument SoundOf(string page) =>
        JsonDocument.Parse(Data().Match(page).Groups[1].Value);

    /// <summary>Integrated loudness of a version, its sounds laid at the nearest sample.</summary>
    private static double Mixed(JsonElement lesson, JsonElement version)
    {
        int rate = lesson.GetProperty("rate").GetInt32();
        float[][] sounds = [.. lesson.GetProperty("sounds").EnumerateArray().Select(sound =>
        {
            byte[] bytes = sound.GetProperty("pcm").GetBytesFromBase64();
            float scale = (float)(sound.GetProperty("peak").GetDouble() / 32767);
            return Enumerable.Range(0, bytes.Length / 2).Select(i => BitConverter.ToInt16(bytes, 2 * i) * scale).ToArray();
        })];
        double[] onsets = [.. lesson.GetProperty("sounds").EnumerateArray().Select(sound => sound.GetProperty("onset").GetDouble())];
        double gain = version.GetProperty("gain").GetDouble();
        JsonElement[] strokes = [.. version.GetProperty("strokes").EnumerateArray()];
        float[] left = new float[(int)((strokes.Max(stroke => stroke[1].GetDouble()) + 6) * rate)], right = new float[left.Length];
        foreach (JsonElement stroke in strokes)
        {
            int index = stroke[2].GetInt32();
            double angle = (stroke[4].GetDouble() + 1) * Math.PI / 4;
            float level = (float)(gain * stroke[3].GetDouble()), l = level * (float)Math.Cos(angle), r = level * (float)Math.Sin(angle);
            int start = (int)Math.Round((1 + stroke[1].GetDouble() - onsets[index]) * rate);
            double choke = stroke[5].ValueKind == JsonValueKind.Null ? double.PositiveInfinity : (1 + stroke[5].GetDouble()) * rate;
            for (int i = 0; i < sounds[index].Length; i++)
            {
                float value = sounds[index][i] * (float)Math.Clamp(1 - ((start + i - choke) / (0.03 * rate)), 0, 1);
                left[start + i] += l * value;
                right[start + i] += r * value;
            }
        }

        var meter = new LoudnessMeter(rate);
        meter.Add(left, right);
        return meter.IntegratedLufs();
    }

    private static List<string> Fields(string row)
    {
        var fields = new List<string>();
        var field = new StringBuilder();
        bool quoted = false;
        foreach (char c in row)
        {
            if (c == '"')
                quoted = !quoted;
            else if (c == ',' && !quoted)
                (_, field) = (Add(fields, field), new StringBuilder());
            else
                field.Append(c);
        }

        Assert.False(quoted);
        Add(fields, field);
        return fields;
    }

    private static int Add(List<string> fields, StringBuilder field)
    {
        fields.Add(field.ToString());
        return fields.Count;
    }

    [GeneratedRegex("(?:href|src|xmlns(?::\\w+)?)=\"([^\"]*)\"")]
    private static partial Regex Address();

    [GeneratedRegex("\\sid=\"([^\"]+)\"")]
    private static partial Regex Id();

    [GeneratedRegex("id=\"lesson-sound\">(.*?)</script>", RegexOptions.Singleline)]
    private static partial Regex Data();
}
