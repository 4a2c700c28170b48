using System.CommandLine;
using System.Globalization;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Cli.Commands;

/// <summary><c>hindbeat rebuild STUDY --out FILE</c>: the study's bars as sound, with its feel scaled.</summary>
internal static class RebuildCommand
{
    public static Command Make(CommandContext context)
    {
        Argument<string> study = SharedOptions.StudyArgument();
        var to = new Option<string>("--out") { Description = "WAV, FLAC or MP3 file to write (the last two with ffmpeg).", HelpName = "FILE", Required = true };
        var dials = new DialOptions();
        var kit = new Option<string>("--kit")
        {
            Description = "What it is played on: house, own (cut from the recording), a folder of files like snare-2.wav, or a SoundFont.",
            HelpName = "KIT",
            DefaultValueFactory = _ => KitChoice.House,
        };
        var click = new ClickChoice();
        var set = new Option<bool>("--set") { Description = $"A lesson's set in one file with named cue points: {string.Join(", ", LessonSet.Usual.Select(part => part.Name))}." };
        var apart = new Option<bool>("--set-apart") { Description = "The same set, a file a version." };
        Option<int?> pause = SharedOptions.Whole("--pause", "Bars of rest after each version of a set (1 unless given).", 0, ClickOptions.MostCountInBars);
        Option<double?> slow = SharedOptions.Number("--slow", "Not a rebuild: the recording itself at this speed, percent, pitch kept, attacks sharp.", 100 * AttackTrueStretch.SlowestSpeed, 100 * AttackTrueStretch.FastestSpeed);
        var bars = new Option<string?>("--bars") { Description = "With --slow: loop these bars, cut at the bar lines.", HelpName = "FIRST-LAST" };
        Option<int?> times = SharedOptions.Whole("--times", "With --bars: how often they sound (4 unless given).", 1, 1000);
        var recording = new Option<string?>("--recording") { Description = "Where the recording lies, when the study does not know or it was moved.", HelpName = "FILE" };
        var bits = new Option<int>("--bits") { Description = "16 or 24 bit.", DefaultValueFactory = _ => 24 };
        bits.AcceptOnlyFromAmong("16", "24");
        Option<string?> library = SharedOptions.Library();
        var command = new Command("rebuild", "Rebuild a study's sound: as written, as played, or any blend; on any kit, at any tempo; as a lesson's set; or slow the recording itself.")
        {
            study, to,
        };
        foreach (Option option in dials.All.Append(kit).Concat(click.All).Concat([set, apart, pause, slow, bars, times, recording, bits, library]))
            command.Options.Add(option);
        var rules = new OptionRules();
        rules.Needs(bars, slow);
        rules.Needs(times, bars);
        rules.Needs(pause, set, apart);
        rules.Excludes(slow, dials.All.Append(kit).Concat(click.All).Concat([set, apart]));
        rules.Excludes(set, dials.OfOneVersion.Append(apart));
        rules.Excludes(apart, dials.OfOneVersion);
        dials.AddRules(rules);
        click.AddRules(rules, set, apart);
        rules.AddTo(command);
        command.SetAction((parsed, cancel) =>
        {
            string path = parsed.GetValue(to)!;
            RebuildFiles.CheckEnding(path);
            FoundStudy found = StudyShelf.FindWhole(parsed.GetValue(study)!, SharedOptions.LibraryFolder(parsed, library));
            int depth = parsed.GetValue(bits);
            bool isSet = parsed.GetValue(set) || parsed.GetValue(apart);
            if (parsed.GetValue(slow) is { } percent)
            {
                Slow(found, parsed.GetValue(recording), percent / 100, parsed.GetValue(bars), parsed.GetValue(times) ?? 4, depth, path, cancel);
                context.Messages.WriteLine(Text($"Wrote {path}: the recording at {percent:0.#} % of its speed, as loud as it is."));
            }
            else if (isSet)
            {
                Kit chosen = KitChoice.Find(parsed.GetValue(kit)!, found, parsed.GetValue(recording), context.Messages);
                LessonPart[] parts = [.. LessonSet.Usual.Select(part => part with { Dials = dials.OnTop(parsed, part.Dials) })];
                LessonSet made = LessonSet.Prepare(found.Performance, found.Feel, parts, chosen, click.Read(parsed, countIn: 1), parsed.GetValue(pause) ?? 1, cancel: cancel);
                foreach (string file in RebuildFiles.WriteSet(made, depth, path, parsed.GetValue(apart), cancel))
                    context.Messages.WriteLine($"Wrote {file}.");
                context.Messages.WriteLine(parsed.GetValue(apart)
                    ? Text($"All as loud as each other, {made.Lufs:0.0} LUFS.")
                    : Text($"All as loud as each other, {made.Lufs:0.0} LUFS. Cue points: {string.Join(", ", Starts(made))}."));
            }
            else
            {
                Dials wanted = dials.Read(parsed);
                Kit chosen = KitChoice.Find(parsed.GetValue(kit)!, found, parsed.GetValue(recording), context.Messages);
                double lufs = RebuildFiles.WriteVersion(found, wanted, chosen, click.Read(parsed, countIn: 0), click.Apart(parsed), depth, path, cancel);
                context.Messages.WriteLine($"Wrote {path}: {DialOptions.Describe(wanted)}.");
                context.Messages.WriteLine(Text($"As loud as this study's other versions on this kit, {lufs:0.0} LUFS."));
            }

            context.Messages.WriteLine(PracticeCare.Loudness);
            if (isSet || parsed.GetValue(bars) is not null)
                context.Messages.WriteLine(PracticeCare.Repetition);
            return Task.FromResult(CommandLine.Done);
        });
        return command;
    }

    private static void Slow(FoundStudy study, string? recording, double speed, string? bars, int times, int bits, string path, CancellationToken cancel)
    {
        StereoSound passage = KitChoice.Passage(study, recording);
        if (bars is null)
        {
            RebuildFiles.WriteSound(wav => SlowedOriginal.Stream(passage, study.From, study.Performance, speed, wav.Write, cancel), passage.SampleRate, bits, path);
            return;
        }

        (int first, int last) = Bars(bars);
        StereoSound round = SlowedOriginal.Round(SlowedOriginal.Make(passage, study.From, study.Performance, speed), study.From, study.Performance, speed, first, last);
        RebuildFiles.WriteSound(
            wav =>
            {
                for (int i = 0; i < times; i++)
                {
                    cancel.ThrowIfCancellationRequested();
                    wav.Write(round.Left, round.Right);
                }
            },
            passage.SampleRate, bits, path);
    }

    private static IEnumerable<string> Starts(LessonSet set)
    {
        long frames = 0;
        for (int i = 0; i < set.Parts.Count; i++)
        {
            long seconds = frames / set.SampleRate;
            yield return Text($"{seconds / 60}:{seconds % 60:00} {set.Parts[i].Name}");
            frames += set.FramesOf(i);
        }
    }

    private static string Text(FormattableString text) => FormattableString.Invariant(text);

    private static (int First, int Last) Bars(string text)
    {
        string[] parts = text.Split('-');
        return parts.Length is 1 or 2
            && int.TryParse(parts[0], NumberStyles.None, CultureInfo.InvariantCulture, out int first)
            && int.TryParse(parts[^1], NumberStyles.None, CultureInfo.InvariantCulture, out int last)
            ? (first, last)
            : throw new InputException($"--bars: '{text}' does not fit; write the first and the last bar, like 3-4.");
    }
}
