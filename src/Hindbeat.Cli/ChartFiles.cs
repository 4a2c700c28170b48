using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Performances;

namespace Hindbeat.Cli;

/// <summary>What of a study's chart is wanted.</summary>
internal sealed record ChartWish(PageFormat Format, ChartOptions Options, EngravingLook Look, bool PlayedMidi, bool TypicalBar, bool FoldedBar)
{
    /// <summary>The chart as written on A4.</summary>
    public static ChartWish Plain { get; } = new(PageFormat.A4, new ChartOptions(), EngravingLook.AsWritten, PlayedMidi: false, TypicalBar: false, FoldedBar: false);
}

/// <summary>Writes a chart in the form that the file's ending names; a page each for pictures.</summary>
internal static class ChartFiles
{
    public static readonly string[] Endings = [".svg", ".png", ".pdf", ".musicxml", ".xml", ".mxl", ".mid", ".midi"];

    private const double PictureDpi = 200;

    /// <returns>The files written.</returns>
    public static IReadOnlyList<string> Write((string Name, Performance Performance, FeelReport Feel) study, string path, ChartWish wish)
    {
        string ending = Path.GetExtension(path).ToLowerInvariant();
        if (ending is ".mid" or ".midi" && wish.PlayedMidi)
        {
            OutputFile.Write(path, stream => ChartMidi.WriteAsPlayed(study.Performance, stream));
            return [path];
        }

        if (wish.FoldedBar)
        {
            WritePage(FoldedBarPage.Draw(FoldedBar.Fold(study.Performance, study.Feel.Options.Seed), study.Name, wish.Format), path);
            return [path];
        }

        ChartOptions options = wish.Options with { Title = study.Name };
        Chart chart = wish.TypicalBar
            ? TypicalBar.Make(study.Performance, study.Feel, options)
            : ChartMaker.Make(study.Performance, study.Feel, options);
        switch (ending)
        {
            case ".mid" or ".midi":
                OutputFile.Write(path, stream => ChartMidi.WriteAsWritten(chart, stream, swing: null));
                return [path];
            case ".musicxml" or ".xml":
                OutputFile.Write(path, stream => MusicXmlFile.Write(chart, stream));
                return [path];
            case ".mxl":
                OutputFile.Write(path, stream => MusicXmlPackage.Write(chart, stream));
                return [path];
            case ".pdf":
                OutputFile.Write(path, stream => PdfPages.Write(Engraver.Engrave(chart, wish.Format, wish.Look), stream));
                return [path];
            default:
                return WritePictures(Engraver.Engrave(chart, wish.Format, wish.Look), path, ending);
        }
    }

    /// <summary>One page as .svg, .png or .pdf.</summary>
    public static void WritePage(DisplayPage page, string path)
    {
        string ending = Path.GetExtension(path).ToLowerInvariant();
        if (ending == ".pdf")
            OutputFile.Write(path, stream => PdfPages.Write([page], stream));
        else
            WritePictures([page], path, ending);
    }

    private static List<string> WritePictures(IReadOnlyList<DisplayPage> pages, string path, string ending)
    {
        var written = new List<string>();
        for (int i = 0; i < pages.Count; i++)
        {
            DisplayPage page = pages[i];
            string name = i == 0 ? path : NumberedPath(path, i + 1);
            if (ending == ".png")
                OutputFile.Write(name, stream => PngPage.Write(page, stream, PictureDpi));
            else
                OutputFile.WriteText(name, writer => SvgPage.Write(page, writer));
            written.Add(name);
        }

        return written;
    }

    private static string NumberedPath(string path, int page) =>
        Path.Combine(Path.GetDirectoryName(path) ?? string.Empty, $"{Path.GetFileNameWithoutExtension(path)}-{page}{Path.GetExtension(path)}");
}
