using System.Text;
using Hindbeat.Bench.Desk;
using Hindbeat.Charting;
using Hindbeat.Handouts;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Studies;

namespace Hindbeat.Bench.Exports;

/// <summary>One thing that a study can be taken along as.</summary>
/// <param name="Id">In the address.</param>
/// <param name="Words">As it is offered.</param>
/// <param name="Ending">Of the file's name, with its dot.</param>
/// <param name="Type">Media type (IANA; MusicXML's from W3C's MusicXML 4.0).</param>
public sealed record StudyExport(string Id, string Words, string Ending, string Type, Action<Study, Dials, Stream> Write)
{
    public static IReadOnlyList<StudyExport> All { get; } =
    [
        new("pdf", "chart, PDF", ".pdf", "application/pdf", (study, _, stream) => PdfPages.Write(Engraver.Engrave(StudyDesk.ChartOf(study, figures: true), PageFormat.A4, EngravingLook.AsWritten), stream)),
        new("musicxml", "chart, MusicXML", ".musicxml", "application/vnd.recordare.musicxml+xml", (study, _, stream) => MusicXmlFile.Write(StudyDesk.ChartOf(study, figures: false), stream)),
        new("written-midi", "MIDI as written", " (written).mid", "audio/midi", (study, _, stream) => ChartMidi.WriteAsWritten(StudyDesk.ChartOf(study, figures: false), stream, swing: null)),
        new("played-midi", "MIDI as played", " (played).mid", "audio/midi", (study, _, stream) => ChartMidi.WriteAsPlayed(study.Performance, stream)),
        new("wav", "rebuild by the dials, WAV", " (rebuilt).wav", "audio/wav", WriteRebuild),
        new("csv", "figures, CSV", ".csv", "text/csv", (study, _, stream) => WriteText(stream, writer => FiguresCsv.Write(study.Feel, writer))),
        new("json", "figures and strokes, JSON", ".json", "application/json", (study, _, stream) => StudyDocuments.From(study).Write(stream)),
    ];

    /// <summary>A name for the file that any system takes.</summary>
    public string FileNameFor(Study study) => FileName(study.Name) + Ending;

    internal static string FileName(string name)
    {
        string plain = new string([.. name.Select(letter => char.IsControl(letter) || "\\/:*?\"<>|".Contains(letter, StringComparison.Ordinal) ? ' ' : letter)]).Trim(' ', '.');
        return plain.Length == 0 ? "study" : plain;
    }

    internal static void WriteText(Stream stream, Action<TextWriter> write)
    {
        using var writer = new StreamWriter(stream, new UTF8Encoding(false), leaveOpen: true);
        write(writer);
    }

    private static void WriteRebuild(Study study, Dials dials, Stream stream)
    {
        const int rate = 44100;
        StereoSound sound = Renderer.Render(RebuildPlan.Make(study.Performance, study.Feel, dials), HouseKit.Load(), rate);
        WavFile.Write(stream, sound, bits: 24);
    }
}
