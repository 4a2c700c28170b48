using System.IO.Compression;
using System.Text;

namespace Hindbeat.Charting;

/// <summary>Writes a chart as compressed MusicXML (.mxl): a ZIP with the score and a META-INF/container.xml that names it (MusicXML 4.0, "Compressed .mxl files").</summary>
public static class MusicXmlPackage
{
    private const string ScoreName = "score.musicxml";

    /// <summary>ZIP's earliest date: the same chart gives the same bytes on any day.</summary>
    private static readonly DateTimeOffset Date = new(1980, 1, 1, 0, 0, 0, TimeSpan.Zero);

    public static void Write(Chart chart, Stream stream)
    {
        ArgumentNullException.ThrowIfNull(chart);
        ArgumentNullException.ThrowIfNull(stream);
        using var zip = new ZipArchive(stream, ZipArchiveMode.Create, leaveOpen: true);

        // First and uncompressed, so that the kind of file can be told from its first bytes.
        Add(zip, "mimetype", CompressionLevel.NoCompression, entry => entry.Write("application/vnd.recordare.musicxml"u8));
        Add(zip, "META-INF/container.xml", CompressionLevel.Optimal, entry => entry.Write(Encoding.UTF8.GetBytes(
            $"<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<container><rootfiles><rootfile full-path=\"{ScoreName}\" media-type=\"application/vnd.recordare.musicxml+xml\"/></rootfiles></container>\n")));
        Add(zip, ScoreName, CompressionLevel.Optimal, entry => MusicXmlFile.Write(chart, entry));
    }

    private static void Add(ZipArchive zip, string name, CompressionLevel level, Action<Stream> write)
    {
        ZipArchiveEntry entry = zip.CreateEntry(name, level);
        entry.LastWriteTime = Date;
        using Stream stream = entry.Open();
        write(stream);
    }
}
