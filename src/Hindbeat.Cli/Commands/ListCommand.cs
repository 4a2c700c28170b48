using System.CommandLine;
using System.Globalization;
using Hindbeat.Studies;

namespace Hindbeat.Cli.Commands;

/// <summary><c>hindbeat list</c>: the library's studies, a line each.</summary>
internal static class ListCommand
{
    public static Command Make(CommandContext context)
    {
        Option<string?> library = SharedOptions.Library();
        var command = new Command("list", "List the studies of the library.") { library };
        command.SetAction(parsed =>
        {
            string folder = SharedOptions.LibraryFolder(parsed, library);
            IReadOnlyList<StudySummary> studies = StudyLibrary.Open(folder).List();
            if (studies.Count == 0)
                context.Messages.WriteLine($"The library in {folder} is empty; 'hindbeat study FILE' adds to it.");
            foreach (StudySummary study in studies)
                context.Output.WriteLine(Line(study));
            return CommandLine.Done;
        });
        return command;
    }

    private static string Line(StudySummary study)
    {
        string swing = study.SwingRatio is { } ratio ? string.Create(CultureInfo.InvariantCulture, $"swing {ratio:0.00}") : "-";
        string kick = study.KickLayBackMs is { } kickMs ? string.Create(CultureInfo.InvariantCulture, $"kick {kickMs:+0.0;-0.0;0.0} ms") : "-";
        string snare = study.SnareLayBackMs is { } snareMs ? string.Create(CultureInfo.InvariantCulture, $"snare {snareMs:+0.0;-0.0;0.0} ms") : "-";
        return string.Create(CultureInfo.InvariantCulture, $"{study.Id}\t{study.Bpm:0.0} bpm\t{study.Meter}\t{swing}\t{kick}\t{snare}\t{study.Name}");
    }
}
