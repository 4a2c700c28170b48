using System.CommandLine;
using Hindbeat.Charting;
using Hindbeat.Performances;
using Hindbeat.Studies;
using Hindbeat.Takes;
using Hindbeat.Units;

namespace Hindbeat.Cli.Commands;

/// <summary><c>hindbeat take STUDY [FILE]</c>: a take beside the passage it copies; without a file the takes so far and what to practise next.</summary>
internal static class TakeCommand
{
    public static Command Make(CommandContext context)
    {
        Argument<string> wanted = SharedOptions.StudyArgument();
        var file = new Argument<string?>("FILE") { Description = "The take: a sound or MIDI file. Left out: the takes so far.", Arity = ArgumentArity.ZeroOrOne };
        Option<AudioTime?> from = SharedOptions.Moment("--from", "Where the take starts in the file.");
        Option<AudioTime?> to = SharedOptions.Moment("--to", "Where it ends.");
        Option<Bpm?> click = SharedOptions.Tempo();
        click.Description = "The click that the take was played to, when there was one; needs --bar-one.";
        Option<AudioTime?> barOne = SharedOptions.Moment("--bar-one", "When beat 1 of the passage's first bar fell on that click, in the take's own time.");
        Option<double?> delay = SharedOptions.Number("--delay", "The delay to take off, ms: the recording's, or for MIDI the kit's own from stroke to MIDI.", -50, 1500);
        Option<double?> delayOff = SharedOptions.Number("--delay-within", "How far the true delay may lie from it, ms (half of its 95 % interval).", 0, 100);
        Option<double?> plan = SharedOptions.Number("--plan", "Plan a practice session of so many minutes.", PracticePlan.FewestMinutes, PracticePlan.MostMinutes);
        var json = new Option<string?>("--json") { Description = "Write the comparison as JSON to this path, or to standard output with '-'.", HelpName = "PATH" };
        var over = new Option<string?>("--over") { Description = "Draw the take over the passage on one bar: a .svg, .png or .pdf file.", HelpName = "FILE" };
        var noSave = new Option<bool>("--no-save") { Description = "Do not keep the take." };
        Option<string?> library = SharedOptions.Library();
        var command = new Command("take", "Hold a take against the passage it copies: what differs, whether anyone could hear it, what to work on first.")
        {
            wanted, file, from, to, click, barOne, delay, delayOff, plan, over, json, noSave, library,
        };
        command.SetAction((parsed, cancel) =>
        {
            string folder = SharedOptions.LibraryFolder(parsed, library);
            FoundStudy study = StudyShelf.FindWhole(parsed.GetValue(wanted)!, folder);
            IReadOnlyList<TakeAdvice> advice = [];
            var before = study.Kept is { } kept ? new TakeShelf(StudyLibrary.Open(folder)).Of(kept.Id) : [];
            if (parsed.GetValue(file) is { } path)
            {
                if (parsed.GetValue(click) is null != parsed.GetValue(barOne) is null)
                    throw new InputException("A click needs both --bpm and --bar-one: its tempo, and when beat 1 fell.");
                if (parsed.GetValue(delayOff) is not null && parsed.GetValue(delay) is null)
                    throw new InputException("--delay-within says how far --delay may be off; give --delay too.");
                if (parsed.GetValue(over) is { } wish && Path.GetExtension(wish).ToLowerInvariant() is not (".svg" or ".png" or ".pdf"))
                    throw new InputException($"'{wish}' does not say what to draw; end it in .svg, .png or .pdf.");
                var progress = new ProgressLine(context.Messages, !Console.IsErrorRedirected);
                Study heard;
                try
                {
                    heard = StudyMaker.Make(path, new StudyOptions { From = parsed.GetValue(from), To = parsed.GetValue(to), Created = context.Clock.GetUtcNow() }, progress, cancel);
                }
                finally
                {
                    progress.End();
                }

                Latency? latency = parsed.GetValue(delay) is { } ms
                    ? new Latency(Seconds.FromMilliseconds(ms), Seconds.FromMilliseconds(parsed.GetValue(delayOff) ?? 0), Seconds.Zero, 0, []) { OfKit = heard.Recording is null }
                    : null;
                TakeComparisonResult result = Compare(study, heard, parsed.GetValue(click), parsed.GetValue(barOne), latency);
                advice = result.Advice;
                if (parsed.GetValue(over) is { } picture)
                    ChartFiles.WritePage(TakeOverPassage.Draw(study.Performance, result, $"{study.Name}, take {Path.GetFileNameWithoutExtension(path)}", PageFormat.A4), picture);
                KeptTake take = KeptTake.Of(study.Kept?.Id ?? "", Path.GetFileNameWithoutExtension(path), context.Clock.GetUtcNow(), Path.GetFullPath(path), latency, result);
                if (!parsed.GetValue(noSave) && study.Kept is not null)
                {
                    take = new TakeShelf(StudyLibrary.Open(folder)).Keep(take);
                    context.Messages.WriteLine($"Kept as take {take.Id}.");
                }

                before = [.. before, take];
                WriteResult(context, study.Name, take, result, parsed.GetValue(json));
            }
            else
            {
                if (before.Count == 0 && parsed.GetValue(plan) is null)
                    throw new InputException($"There are no takes of {study.Name} yet; name a recording of one.");
                TakeText.WriteHistory(context.Output, before);
                if (parsed.GetValue(plan) is not null)
                    advice = AdviceOf(study, before);
            }

            TakeMark[] marks = [.. before.Select(take => take.Mark)];
            if (parsed.GetValue(plan) is { } minutes)
                TakeText.WritePlan(context.Output, PracticePlan.Make((int)minutes, study.Performance.Pulse.MeanTempo, marks, advice));
            else if (parsed.GetValue(json) != "-")
                context.Messages.WriteLine(FormattableString.Invariant($"Next on the ladder: {PracticeLadder.Next(study.Performance.Pulse.MeanTempo, marks).Tempo.Value:0} bpm."));
            return Task.FromResult(CommandLine.Done);
        });
        return command;
    }

    private static TakeComparisonResult Compare(FoundStudy study, Study heard, Bpm? click, AudioTime? barOne, Latency? latency)
    {
        Performance passage = study.Performance;
        Pulse? pulse = click is { } bpm && barOne is { } one
            ? Pulse.Steady(passage.Meter, bpm, one, passage.Meter.BeatsPerBar * 2, FirstBar(passage))
            : null;
        // Strokes that were heard, in either of the two, are timed less well than those of an electronic kit.
        bool sound = heard.Recording is not null || study.Feel.Options.Hearing is not null;
        return TakeComparison.Of(passage, TakeAligner.Align(passage, heard.Performance.Hits, pulse, latency), TakeComparison.OptionsFor(sound), latency);
    }

    /// <summary>What the last take asks for; nothing when the passage has been written anew since and it no longer goes with it.</summary>
    private static IReadOnlyList<TakeAdvice> AdviceOf(FoundStudy study, IReadOnlyList<KeptTake> takes)
    {
        try
        {
            return takes.Count == 0 ? [] : takes[^1].Compare(study.Performance).Advice;
        }
        catch (InputException)
        {
            return [];
        }
    }

    private static int FirstBar(Performance passage) => Math.Max(1, passage.PlacedHits().Min(placed => placed.Position.Bar));

    private static void WriteResult(CommandContext context, string study, KeptTake take, TakeComparisonResult result, string? json)
    {
        if (json == "-")
        {
            context.Output.WriteLine(take.ToJson());
            return;
        }

        if (json is not null)
        {
            OutputFile.Write(json, stream =>
            {
                byte[] text = System.Text.Encoding.UTF8.GetBytes(take.ToJson());
                stream.Write(text);
            });
        }

        TakeText.Write(context.Output, study, take.Name, result);
    }
}
