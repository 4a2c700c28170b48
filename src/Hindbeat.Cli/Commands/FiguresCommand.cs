using System.CommandLine;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Cli.Commands;

/// <summary><c>hindbeat figures --out FILE</c>: every figure of every study as one table, for spreadsheets and statistics.</summary>
internal static class FiguresCommand
{
    public static Command Make(CommandContext context)
    {
        var to = new Option<string>("--out") { Description = "File to write: .csv or .parquet; '-' = CSV to standard output.", HelpName = "FILE", Required = true };
        Option<string?> library = SharedOptions.Library();
        var command = new Command("figures", "The library as data: every figure of every study with its interval, a row a figure.") { to, library };
        command.SetAction(parsed =>
        {
            string path = parsed.GetValue(to)!;
            StudyLibrary shelf = StudyLibrary.Open(SharedOptions.LibraryFolder(parsed, library));
            switch (Path.GetExtension(path).ToLowerInvariant())
            {
                case ".csv":
                    OutputFile.WriteText(path, writer => LibraryTable.WriteCsv(LibraryTable.Rows(shelf), writer));
                    break;
                case ".parquet":
                    OutputFile.Write(path, stream => LibraryTable.WriteParquet(LibraryTable.Rows(shelf), stream));
                    break;
                case "" when path == "-":
                    LibraryTable.WriteCsv(LibraryTable.Rows(shelf), context.Output);
                    return CommandLine.Done;
                default:
                    throw new InputException($"'{path}' does not say how to write the table; end it in .csv or .parquet.");
            }

            context.Messages.WriteLine($"Wrote {path}");
            return CommandLine.Done;
        });
        return command;
    }
}
