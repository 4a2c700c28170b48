using System.CommandLine;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Cli.Commands;

/// <summary><c>hindbeat pulse STUDY</c>: corrects the pulse of a kept study; nothing is listened to again.</summary>
internal static class PulseCommand
{
    public static Command Make(CommandContext context)
    {
        Argument<string> wanted = SharedOptions.StudyArgument();
        Option<Bpm?> tempo = SharedOptions.Tempo();
        var tap = new Option<bool>("--tap") { Description = "Tap the tempo: press Enter on each beat, then type any letter and Enter." };
        var taps = new Option<string?>("--taps") { Description = "Read taps instead: a file with the seconds of each, a line a tap.", HelpName = "FILE" };
        Option<bool> halve = Halve();
        Option<bool> twice = Double();
        Option<Meter?> meter = SharedOptions.Meter();
        Option<AudioTime?> barOne = SharedOptions.Moment("--bar-one", "Where beat 1 of bar 1 falls.");
        Option<TempoShape?> shape = Shape();
        var beats = new Option<string[]>("--beat") { Description = "Move a beat: bar.beat=seconds (3.2=4.125); may be given several times.", HelpName = "BAR.BEAT=TIME" };
        Option<string?> library = SharedOptions.Library();
        var command = new Command("pulse", "Correct the tempo, meter, bar line or beats of a study; its strokes stay as heard.")
        {
            wanted, tempo, tap, taps, halve, twice, meter, barOne, shape, beats, library,
        };
        command.SetAction(parsed =>
        {
            List<PulseCorrection> corrections = [];
            if (parsed.GetValue(tempo) is { } bpm)
                corrections.Add(new TempoStated(bpm));
            if (parsed.GetValue(tap))
                corrections.Add(new TempoStated(Tapped(context)));
            if (parsed.GetValue(taps) is { } file)
                corrections.Add(new TempoStated(TempoOf(context, TapFile.Read(file))));
            if (parsed.GetValue(halve))
                corrections.Add(new TempoHalved());
            if (parsed.GetValue(twice))
                corrections.Add(new TempoDoubled());
            if (parsed.GetValue(meter) is { } bar)
                corrections.Add(new MeterStated(bar));
            if (parsed.GetValue(barOne) is { } one)
                corrections.Add(new BarOneSet(one));
            if (parsed.GetValue(shape) is { } stated)
                corrections.Add(new ShapeStated(stated));
            corrections.AddRange((parsed.GetValue(beats) ?? []).Select(Beat));
            StudyLibrary shelf = StudyLibrary.Open(SharedOptions.LibraryFolder(parsed, library));
            Study study = shelf.Load(StudyShelf.Id(shelf, parsed.GetValue(wanted)!))!;
            if (corrections.Count > 0)
            {
                study = shelf.Save(StudyHistory.Do(study, new PulseCorrected(corrections)));
                context.Messages.WriteLine($"Corrected and kept: {string.Join(", ", study.Corrections.Select(PulseCorrections.Words))}.");
            }

            StudyText.Write(context.Output, study);
            return CommandLine.Done;
        });
        return command;
    }

    /// <summary>The tempo of the lines that a person enters, empty ones until one with a letter or the end.</summary>
    private static Bpm Tapped(CommandContext context)
    {
        context.Messages.WriteLine("Press Enter on each beat while you hear it; then type any letter and Enter.");
        List<double> taps = [];
        long start = context.Clock.GetTimestamp();
        while (context.Input.ReadLine() is { Length: 0 })
            taps.Add(context.Clock.GetElapsedTime(start).TotalSeconds);
        return TempoOf(context, taps);
    }

    private static Bpm TempoOf(CommandContext context, IReadOnlyList<double> taps)
    {
        Bpm tempo = TappedTempo.Of(taps);
        context.Messages.WriteLine(FormattableString.Invariant($"{taps.Count} taps: {tempo.Value:0.0} bpm."));
        return tempo;
    }

    public static Option<bool> Halve() => new("--halve") { Description = "Count every second beat." };

    public static Option<bool> Double() => new("--double") { Description = "Count twice as many beats." };

    public static Option<TempoShape?> Shape() => new("--tempo")
    {
        Description = "Shape of the tempo: steady (one tempo), quadratic (changes evenly) or curved; found when left out.",
        HelpName = "SHAPE",
    };

    private static BeatMoved Beat(string text)
    {
        try
        {
            return PulseCorrections.ParseBeat(text);
        }
        catch (FormatException reason)
        {
            throw new InputException(reason.Message, reason);
        }
    }
}
