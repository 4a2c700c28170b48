using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Performances;

namespace Hindbeat.Cli;

/// <summary>Writes a chart in the form that the file's ending names; a page each for pictures.</summary>
internal static class ChartFiles
{
    private const double PictureDpi = 200;

    /// <returns>The files written.</returns>
    public static IReadOnlyList<string> Write(
        (string Name, Performance Performance, FeelReport Feel) study, string path, PageFormat format, bool played)
    {
        string ending = Path.GetExtension(path).ToLowerInvariant();
        if (ending is ".mid" or ".midi" && played)
        {
            OutputFile.Write(path, stream => ChartMidi.WriteAsPlayed(study.Performance, stream));
            return [path];
        }

        Chart chart = ChartMaker.Make(study.Performance, study.Feel, new ChartOptions { Title = study.Name });
        switch (ending)
        {
            case ".mid" or ".midi":
                OutputFile.Write(path, stream => ChartMidi.WriteAsWritten(chart, stream, swing: null));
                return [path];
            case ".musicxml" or ".xml":
                OutputFile.Write(path, stream => MusicXmlFile.Write(chart, stream));
                return [path];
            default:
                IReadOnlyList<DisplayPage> pages = Engraver.Engrave(chart, format);
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
    }

    private static string NumberedPath(string path, int page) =>
        Path.Combine(Path.GetDirectoryName(path) ?? string.Empty, $"{Path.GetFileNameWithoutExtension(path)}-{page}{Path.GetExtension(path)}");
}
