using System.Globalization;
using System.IO.Compression;
using System.Text;
using Hindbeat.Charting;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;

namespace Hindbeat.Handouts;

/// <summary>
/// All of a lesson in one zip: the page, the sheet, the chart for other programs, the versions as sound, the figures as data, and
/// a text that says what is what and whose work is in it. The recording itself is not in it unless a path is given.
/// </summary>
public static class HandoutPack
{
    private const int SampleRate = 44100;

    /// <param name="figuresJson">The study's document for other programs.</param>
    /// <param name="recording">The recording, only when the teacher may pass it on; null = left out.</param>
    public static void Write(Lesson lesson, PageFormat format, string figuresJson, string? recording, Stream stream, CancellationToken cancel = default)
    {
        ArgumentNullException.ThrowIfNull(lesson);
        using var zip = new ZipArchive(stream, ZipArchiveMode.Create, leaveOpen: true);
        Text(zip, "lesson.html", writer => LessonPage.Write(lesson, writer));
        Binary(zip, "handout.pdf", entry => HandoutPdf.Write(lesson, format, entry));
        Chart chart = ChartMaker.Make(lesson.Performance, lesson.Feel, new ChartOptions { Title = lesson.Title });
        Binary(zip, "chart.musicxml", entry => MusicXmlFile.Write(chart, entry));
        Binary(zip, "as-written.mid", entry => ChartMidi.WriteAsWritten(chart, entry, swing: null));
        Binary(zip, "as-played.mid", entry => ChartMidi.WriteAsPlayed(lesson.Performance, entry));
        var names = new List<string>();
        LessonSet set = LessonSet.Prepare(lesson.Performance, lesson.Feel, lesson.Versions, lesson.Kit, new ClickOptions { CountInBars = 1, Through = false }, sampleRate: SampleRate, cancel: cancel);
        for (int i = 0; i < set.Parts.Count; i++)
        {
            int part = i;
            names.Add(string.Create(CultureInfo.InvariantCulture, $"sound/{i + 1}-{set.Parts[i].Name.Replace(' ', '-')}.wav"));
            Binary(zip, names[^1], entry =>
            {
                using var wav = new WavWriter(entry, SampleRate, 16);
                set.Stream(part, wav.Write, cancel);
                wav.Complete();
            });
        }

        Text(zip, "figures.csv", writer => FiguresCsv.Write(lesson.Feel, writer));
        Text(zip, "figures.json", writer => writer.Write(figuresJson));
        if (recording is not null)
            zip.CreateEntryFromFile(recording, "recording" + Path.GetExtension(recording).ToLowerInvariant(), CompressionLevel.NoCompression);
        Text(zip, "README.txt", writer => writer.Write(ReadMe(lesson, names, recording is not null)));
    }

    private static string ReadMe(Lesson lesson, List<string> sounds, bool recording)
    {
        var text = new StringBuilder();
        text.AppendLine(lesson.Title);
        if (lesson.Teacher.Length > 0)
            text.AppendLine(lesson.Teacher);
        text.AppendLine();
        text.AppendLine("lesson.html      open it in any browser: chart, words, figures, and the versions to listen to");
        text.AppendLine("handout.pdf      the same on paper, without the sound");
        text.AppendLine("chart.musicxml   the chart for notation programs (MusicXML 4.0)");
        text.AppendLine("as-written.mid   the chart as MIDI; as-played.mid every stroke where it was struck");
        text.AppendLine("figures.csv      the measured figures with their intervals; figures.json all of the study");
        foreach (string sound in sounds)
            text.AppendLine(sound);
        if (recording)
            text.AppendLine("recording.*      the recording itself");
        text.AppendLine();
        if (lesson.Credits.Length > 0)
            text.AppendLine(lesson.Credits);
        if (lesson.KitCredit.Length > 0)
            text.AppendLine(lesson.KitCredit);
        text.AppendLine();
        text.AppendLine(PracticeCare.Strain);
        text.AppendLine(PracticeCare.Repetition);
        return text.ToString();
    }

    private static void Text(ZipArchive zip, string name, Action<TextWriter> write) => Binary(zip, name, stream =>
    {
        using var writer = new StreamWriter(stream, new UTF8Encoding(false), leaveOpen: true);
        write(writer);
    });

    /// <summary>Through memory: some writers go back to fill in a length, which an entry does not allow.</summary>
    private static void Binary(ZipArchive zip, string name, Action<Stream> write)
    {
        using var buffer = new MemoryStream();
        write(buffer);
        using Stream entry = zip.CreateEntry(name, CompressionLevel.Optimal).Open();
        entry.Write(buffer.GetBuffer(), 0, (int)buffer.Length);
    }
}
