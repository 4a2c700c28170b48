using System.CommandLine;
using Hindbeat.Cli.Commands;
using Hindbeat.Units;

namespace Hindbeat.Cli;

/// <summary>
/// The command line as a whole. Standard output carries data only, messages and progress go to standard
/// error. Exit codes: 0 done, 1 the input cannot be used (one line says why), 2 wrong arguments.
/// </summary>
internal static class CommandLine
{
    public const int Done = 0;
    public const int CannotUse = 1;
    public const int WrongArguments = 2;

    public static async Task<int> RunAsync(string[] args, TextWriter output, TextWriter messages, TextReader? input = null)
    {
        var context = new CommandContext(output, messages, TimeProvider.System) { Input = input ?? TextReader.Null };
        var root = new RootCommand("Hindbeat studies the time feel of drumming: what is played, and how.")
        {
            StudyCommand.Make(context),
            PulseCommand.Make(context),
            EditCommand.Make(context),
            ChartCommand.Make(context),
            TakeCommand.Make(context),
            HandoutCommand.Make(context),
            RebuildCommand.Make(context),
            CompareCommand.Make(context),
            LikeCommand.Make(context),
            ListCommand.Make(context),
            FiguresCommand.Make(context),
            OpenCommand.Make(context),
            DemoCommand.Make(context),
        };

        ParseResult parsed = root.Parse(args);
        if (parsed.Errors.Count > 0)
        {
            foreach (var error in parsed.Errors)
                await messages.WriteLineAsync(error.Message);
            await messages.WriteLineAsync("hindbeat --help lists the commands, hindbeat COMMAND --help one command's options.");
            return WrongArguments;
        }

        try
        {
            var configuration = new InvocationConfiguration { Output = output, Error = messages, EnableDefaultExceptionHandler = false };
            return await parsed.InvokeAsync(configuration);
        }
        catch (InputException reason)
        {
            await messages.WriteLineAsync(OneLine(reason.Message));
            return CannotUse;
        }
        catch (OperationCanceledException)
        {
            await messages.WriteLineAsync("Stopped; nothing was saved.");
            return CannotUse;
        }
        catch (Exception reason) when (reason is IOException or UnauthorizedAccessException)
        {
            await messages.WriteLineAsync(OneLine(reason.Message));
            return CannotUse;
        }
    }

    private static string OneLine(string text) => text.ReplaceLineEndings(" ");
}

/// <summary>Where a command writes, and what time it is.</summary>
internal sealed record CommandContext(TextWriter Output, TextWriter Messages, TimeProvider Clock)
{
    /// <summary>What a person types while a command runs.</summary>
    public TextReader Input { get; init; } = TextReader.Null;
}
