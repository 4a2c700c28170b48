using System.CommandLine;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Cli.Commands;

/// <summary><c>hindbeat study FILE</c>: a recording or kit MIDI in, a study into the library and a report out; of a folder, a line a passage.</summary>
internal static class StudyCommand
{
    public static Command Make(CommandContext context)
    {
        var file = new Argument<string>("FILE") { Description = "A sound, video or MIDI file, or a folder of them." };
        Option<AudioTime?> from = SharedOptions.Moment("--from", "Where the passage starts.");
        Option<AudioTime?> to = SharedOptions.Moment("--to", "Where the passage ends.");
        Option<Bpm?> tempo = SharedOptions.Tempo();
        Option<Meter?> meter = SharedOptions.Meter();
        Option<AudioTime?> barOne = SharedOptions.Moment("--bar-one", "Where beat 1 of bar 1 falls.");
        Option<bool> halve = PulseCommand.Halve();
        Option<bool> twice = PulseCommand.Double();
        Option<TempoShape?> shape = PulseCommand.Shape();
        var reference = new Option<string?>("--reference") { Description = "What late and early are measured against: hand (on hats or ride), kit, snare or click (default: the hand when it is steady).", HelpName = "WHAT" };
        reference.AcceptOnlyFromAmong("hand", "kit", "snare", "click");
        var against = new Option<string?>("--against") { Description = "Another track as the reference: a recording or MIDI file that starts together with this one.", HelpName = "FILE" };
        var name = new Option<string?>("--name") { Description = "Name of the study (default: the file's name)." };
        var json = new Option<string?>("--json") { Description = "Write the hindbeat-study document to this path, or to standard output with '-'. Of a folder: the file of JSON lines, a line a passage, to which a run that was stopped is added.", HelpName = "PATH" };
        Option<int?> workers = SharedOptions.Whole("--workers", "Of a folder: how many files are studied at the same time (default: one a processor core).", 1, FolderOptions.MostWorkers);
        var noSave = new Option<bool>("--no-save") { Description = "Do not keep the study in the library." };
        Option<string?> library = SharedOptions.Library();
        var command = new Command("study", "Study a passage: hear its strokes, find its pulse, measure its feel.")
        {
            file, from, to, tempo, meter, barOne, halve, twice, shape, reference, against, name, json, workers, noSave, library,
        };
        command.SetAction((parsed, cancel) =>
        {
            if (Directory.Exists(parsed.GetValue(file)))
            {
                Option? single = command.Options.Except([json, workers, noSave, library]).FirstOrDefault(option => parsed.GetResult(option) is { Implicit: false });
                if (single is not null)
                    throw new InputException($"{single.Name} is for one recording; a folder's passages are studied each as it is.");
                StudyLibrary? shelf = parsed.GetValue(noSave) ? null : StudyLibrary.Open(SharedOptions.LibraryFolder(parsed, library));
                return Task.FromResult(FolderRun.Go(context, parsed.GetValue(file)!, parsed.GetValue(json), parsed.GetValue(workers), shelf, cancel));
            }

            if (parsed.GetValue(workers) is not null)
                throw new InputException("--workers is for a folder; this is one recording.");
            List<PulseCorrection> corrections = [];
            if (parsed.GetValue(halve))
                corrections.Add(new TempoHalved());
            if (parsed.GetValue(twice))
                corrections.Add(new TempoDoubled());
            if (parsed.GetValue(reference) is not null && parsed.GetValue(against) is not null)
                throw new InputException("--reference and --against both say what to measure against; give one of them.");
            var options = new StudyOptions
            {
                Reference = ReferenceOf(parsed.GetValue(reference)),
                Shape = parsed.GetValue(shape) ?? TempoShape.Found,
                Corrections = corrections,
                From = parsed.GetValue(from),
                To = parsed.GetValue(to),
                Tempo = parsed.GetValue(tempo),
                Meter = parsed.GetValue(meter),
                BarOne = parsed.GetValue(barOne),
                Name = parsed.GetValue(name),
                Created = context.Clock.GetUtcNow(),
            };
            var progress = new ProgressLine(context.Messages, !Console.IsErrorRedirected);
            Study study;
            try
            {
                if (parsed.GetValue(against) is { } track)
                    options = options with { Against = StudyMaker.ReadTrack(track, $"strokes of {Path.GetFileNameWithoutExtension(track)}", options, cancel) };
                study = StudyMaker.Make(parsed.GetValue(file)!, options, progress, cancel);
            }
            finally
            {
                progress.End();
            }

            if (!parsed.GetValue(noSave))
            {
                study = StudyLibrary.Open(SharedOptions.LibraryFolder(parsed, library)).Save(study);
                context.Messages.WriteLine($"Saved as {study.Id}; 'hindbeat open {study.Id}' shows it.");
            }

            WriteResult(context, study, parsed.GetValue(json));
            return Task.FromResult(CommandLine.Done);
        });
        return command;
    }

    private static FeelReference? ReferenceOf(string? word) => word switch
    {
        "hand" => FeelReference.TimekeepingHand,
        "kit" => FeelReference.WholeKit,
        "snare" => FeelReference.Snare,
        "click" => FeelReference.Click,
        _ => null,
    };

    private static void WriteResult(CommandContext context, Study study, string? json)
    {
        if (json == "-")
        {
            using var buffer = new MemoryStream();
            StudyDocuments.From(study).Write(buffer);
            context.Output.WriteLine(System.Text.Encoding.UTF8.GetString(buffer.ToArray()));
            return;
        }

        if (json is not null)
            OutputFile.Write(json, stream => StudyDocuments.From(study).Write(stream));
        StudyText.Write(context.Output, study);
    }
}
