using System.CommandLine;
using Hindbeat.Charting;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Cli.Commands;

/// <summary><c>hindbeat edit STUDY EDIT...</c>: changes what is written, by words or by typed bars; every edit is kept and can be taken back.</summary>
internal static class EditCommand
{
    private const int MostSteps = 100_000;

    public static Command Make(CommandContext context)
    {
        Argument<string> wanted = new("STUDY") { Description = "A study: its id or name in the library." };
        var edits = new Argument<string[]>("EDIT")
        {
            Description = "Edits, each in quotes: 'add hat-closed 1.4& @60', 'delete snare 3.2a', 'move kick 2.3 to 2.3e', 'rename snare 1.2 to cross-stick', 'mark snare 1.2a ghost', 'meter 6/8', 'bar-lines +1', 'divide 3-4 by 3', 'swing dotted', 'repeats on', 'bar 3 in 4/4; kick: 1, 3; snare: 2, 4'.",
            Arity = ArgumentArity.ZeroOrMore,
        };
        var show = new Option<string?>("--show-bars") { Description = "Print bars as text that --bars reads back: 3 or 3-6.", HelpName = "BARS" };
        var bars = new Option<string?>("--bars") { Description = "Read typed bars from a file (- is standard input), an empty line between two.", HelpName = "FILE" };
        Option<double?> undo = SharedOptions.Number("--undo", "Take back so many changes first.", 1, MostSteps);
        Option<double?> redo = SharedOptions.Number("--redo", "Do again so many changes taken back.", 1, MostSteps);
        var again = new Option<bool>("--listen-again") { Description = "Listen to the recording anew first; corrections and edits are done again." };
        var list = new Option<bool>("--list") { Description = "Print the edits of the study, in order, and those taken back." };
        Option<string?> library = SharedOptions.Library();
        var command = new Command("edit", "Change what a study writes: strokes, marks, bars, meter; edits are kept and can be taken back.")
        {
            wanted, edits, show, bars, undo, redo, again, list, library,
        };
        command.SetAction((parsed, cancel) =>
        {
            StudyLibrary shelf = StudyLibrary.Open(SharedOptions.LibraryFolder(parsed, library));
            Study kept = shelf.Load(StudyShelf.Id(shelf, parsed.GetValue(wanted)!))!;
            Study study = parsed.GetValue(again) ? Anew(context, kept, cancel) : kept;
            for (int i = 0; i < (int)(parsed.GetValue(undo) ?? 0); i++)
                study = StudyHistory.Undo(study);
            for (int i = 0; i < (int)(parsed.GetValue(redo) ?? 0); i++)
                study = StudyHistory.Redo(study);
            foreach (string bar in TypedBars(parsed.GetValue(bars)))
                study = StudyHistory.Do(study, new ChartEdited(EditWords.Parse(bar, study.Performance)));
            // One after the other: a later edit may name a stroke that an earlier one has moved.
            foreach (string edit in parsed.GetValue(edits) ?? [])
                study = StudyHistory.Do(study, new ChartEdited(EditWords.Parse(edit, study.Performance)));
            if (!ReferenceEquals(study, kept))
            {
                shelf.Save(study);
                context.Messages.WriteLine($"Kept: {study.Edits.Count} {(study.Edits.Count == 1 ? "edit" : "edits")}, {study.UndoneEdits.Count} taken back; {study.Performance.Hits.Count} strokes.");
            }

            if (parsed.GetValue(show) is { } range)
                WriteBars(context.Output, study, range);
            else if (parsed.GetValue(list))
                WriteEdits(context.Output, study);
            else
                StudyText.Write(context.Output, study);
            return Task.FromResult(CommandLine.Done);
        });
        return command;
    }

    private static Study Anew(CommandContext context, Study study, CancellationToken cancel)
    {
        var progress = new ProgressLine(context.Messages, !Console.IsErrorRedirected);
        try
        {
            return StudyMaker.Again(study, null, progress, cancel);
        }
        finally
        {
            progress.End();
        }
    }

    private static string[] TypedBars(string? file)
    {
        if (file is null)
            return [];
        string text;
        try
        {
            text = file == "-" ? Console.In.ReadToEnd() : File.ReadAllText(file);
        }
        catch (Exception reason) when (reason is FileNotFoundException or DirectoryNotFoundException)
        {
            throw new InputException($"There is no file {file}.", reason);
        }

        return text.ReplaceLineEndings("\n").Split("\n\n", StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);
    }

    private static void WriteBars(TextWriter output, Study study, string range)
    {
        string[] ends = range.Split('-');
        if (ends.Length > 2 || !int.TryParse(ends[0], out int first) || !int.TryParse(ends[^1], out int last) || first > last)
            throw new InputException($"--show-bars: '{range}' does not fit; write one bar or two, like 3 or 3-6.");
        if (last > study.Performance.Pulse.LastBar || first < study.Performance.Pulse.FirstBar)
            throw new InputException($"The bars run from {study.Performance.Pulse.FirstBar} to {study.Performance.Pulse.LastBar}.");
        output.WriteLine(string.Join('\n', Enumerable.Range(first, last - first + 1).Select(bar => BarText.Write(BarText.Of(study.Performance, bar)))).TrimEnd());
    }

    private static void WriteEdits(TextWriter output, Study study)
    {
        foreach (ChartEdit edit in study.Edits)
            output.WriteLine(EditWords.Write(edit));
        foreach (ChartEdit edit in study.UndoneEdits)
            output.WriteLine($"# taken back: {EditWords.Write(edit)}");
    }
}
