using System.CommandLine;
using Hindbeat.Charting;
using Hindbeat.Units;

namespace Hindbeat.Cli.Commands;

/// <summary><c>hindbeat chart STUDY --out FILE</c>: the page (SVG, PNG), MusicXML or MIDI, by the file's ending.</summary>
internal static class ChartCommand
{
    private static readonly string[] Endings = [".svg", ".png", ".musicxml", ".xml", ".mid", ".midi"];

    public static Command Make(CommandContext context)
    {
        Argument<string> study = SharedOptions.StudyArgument();
        var to = new Option<string>("--out")
        {
            Description = "File to write: .svg or .png (a page), .musicxml, or .mid.",
            HelpName = "FILE",
            Required = true,
        };
        var played = new Option<bool>("--played") { Description = "MIDI as played, every stroke where it was struck (default: as written)." };
        var paper = new Option<string>("--paper") { Description = "Paper size: a4 or letter.", DefaultValueFactory = _ => "a4" };
        paper.AcceptOnlyFromAmong("a4", "letter");
        Option<string?> library = SharedOptions.Library();
        var command = new Command("chart", "Write a study's chart: a page, MusicXML or MIDI.") { study, to, played, paper, library };
        command.SetAction(parsed =>
        {
            string path = parsed.GetValue(to)!;
            string ending = Path.GetExtension(path).ToLowerInvariant();
            if (!Endings.Contains(ending))
                throw new InputException($"'{path}' does not say what to write; end it in {string.Join(", ", Endings)}.");
            var found = StudyShelf.Find(parsed.GetValue(study)!, SharedOptions.LibraryFolder(parsed, library));
            var format = parsed.GetValue(paper) == "letter" ? PageFormat.Letter : PageFormat.A4;
            foreach (string written in ChartFiles.Write(found, path, format, parsed.GetValue(played)))
                context.Messages.WriteLine($"Wrote {written}");
            return CommandLine.Done;
        });
        return command;
    }
}
