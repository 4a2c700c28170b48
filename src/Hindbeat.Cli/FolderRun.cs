using System.Globalization;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Cli;

/// <summary>Studies a folder and tells on standard error how far it is, what cannot be used, and what came of it.</summary>
internal static class FolderRun
{
    /// <param name="lines">File of JSON lines; the one thing that must be named.</param>
    /// <returns>The exit code: <see cref="CommandLine.CannotUse"/> when a file could not be used; the others are studied all the same.</returns>
    public static int Go(CommandContext context, string folder, string? lines, int? workers, StudyLibrary? library, CancellationToken cancel)
    {
        if (lines is null or "-")
            throw new InputException("Of a folder a line a passage is written; name the file with --json FILE, so that a run that is stopped can go on.");
        long start = context.Clock.GetTimestamp();
        var options = new FolderOptions { Workers = workers ?? Math.Min(Environment.ProcessorCount, FolderOptions.MostWorkers), Library = library, Created = context.Clock.GetUtcNow() };
        var progress = new Teller(context.Messages, !Console.IsErrorRedirected);
        FolderOutcome outcome;
        try
        {
            outcome = FolderStudy.Run(folder, lines, options, progress, cancel);
        }
        catch (OperationCanceledException)
        {
            progress.End();
            context.Messages.WriteLine($"Stopped. What was studied is in {lines}; the same command goes on from there.");
            return CommandLine.CannotUse;
        }

        progress.End();
        int all = outcome.Studied + outcome.WereThere + outcome.Refused.Count;
        context.Messages.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"{all} files in {Length(context.Clock.GetElapsedTime(start))}: {outcome.Studied} studied, {outcome.WereThere} had their line already, {outcome.Refused.Count} could not be used. The lines are in {lines}."));
        return outcome.Refused.Count > 0 ? CommandLine.CannotUse : CommandLine.Done;
    }

    private static string Length(TimeSpan length) => length.TotalMinutes < 1
        ? string.Create(CultureInfo.InvariantCulture, $"{length.TotalSeconds:0.0} s")
        : string.Create(CultureInfo.InvariantCulture, $"{(int)length.TotalMinutes} min {length.Seconds} s");

    /// <summary>Files that cannot be used get a line each; how far it is stands in place on a terminal, and is said ten times elsewhere.</summary>
    private sealed class Teller(TextWriter messages, bool onTerminal) : IProgress<FolderStep>
    {
        private const int Tenths = 10;

        public void Report(FolderStep step)
        {
            if (step.Verdict == FolderVerdict.Refused)
            {
                End();
                messages.WriteLine($"{step.File}: {step.Reason}");
            }

            if (onTerminal)
                messages.Write(Text($"\r{step.Done} of {step.All}"));
            else if (step.Verdict == FolderVerdict.Studied && Tenths * step.Done / step.All > Tenths * (step.Done - 1) / step.All)
                messages.WriteLine(Text($"{step.Done} of {step.All}"));
        }

        public void End()
        {
            if (onTerminal)
                messages.Write("\r" + new string(' ', 24) + "\r");
        }

        private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
    }
}
