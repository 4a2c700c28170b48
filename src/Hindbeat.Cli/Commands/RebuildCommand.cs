using System.CommandLine;
using System.Globalization;
using Hindbeat.Rebuilding;
using Hindbeat.Units;

namespace Hindbeat.Cli.Commands;

/// <summary><c>hindbeat rebuild STUDY --out FILE.wav</c>: the study's bars as sound, with its feel scaled.</summary>
internal static class RebuildCommand
{
    public static Command Make(CommandContext context)
    {
        Argument<string> study = SharedOptions.StudyArgument();
        var to = new Option<string>("--out") { Description = "WAV file to write.", HelpName = "FILE", Required = true };
        Option<double?> swing = Percent("--swing", "Swing");
        Option<double?> layBack = Percent("--lay-back", "Lay-back of every piece");
        Option<double?> looseness = Percent("--looseness", "Looseness (what is left of each stroke's own deviation)");
        Option<double?> touch = Percent("--touch", "Pattern of loudness");
        Option<double?> tempo = Percent("--tempo-breath", "Breath of the tempo");
        var all = SharedOptions.Number("--feel", "All of it at once, in percent: 0 as written, 100 as played (default), up to 200.", 0, 200);
        var bits = new Option<int>("--bits") { Description = "16 or 24 bit.", DefaultValueFactory = _ => 24 };
        bits.AcceptOnlyFromAmong("16", "24");
        Option<string?> library = SharedOptions.Library();
        var command = new Command("rebuild", "Rebuild a study's sound: as written, as played, or any blend.")
        {
            study, to, all, swing, layBack, looseness, touch, tempo, bits, library,
        };
        command.SetAction(parsed =>
        {
            string path = parsed.GetValue(to)!;
            if (!string.Equals(Path.GetExtension(path), ".wav", StringComparison.OrdinalIgnoreCase))
                throw new InputException($"A rebuild is a WAV file; end '{path}' in .wav.");
            var found = StudyShelf.Find(parsed.GetValue(study)!, SharedOptions.LibraryFolder(parsed, library));
            double whole = (parsed.GetValue(all) ?? 100.0) / 100.0;
            double Dial(Option<double?> option) => parsed.GetValue(option) is { } percent ? percent / 100.0 : whole;
            var dials = new Dials
            {
                Swing = Dial(swing),
                LayBack = Dial(layBack),
                Looseness = Dial(looseness),
                Touch = Dial(touch),
                Tempo = Dial(tempo),
            };
            OutputFile.Write(path, stream => RebuildFiles.Write(found.Performance, found.Feel, dials, parsed.GetValue(bits), stream));
            context.Messages.WriteLine(string.Create(CultureInfo.InvariantCulture,
                $"Wrote {path}: swing {dials.Swing:P0}, lay-back {dials.LayBack:P0}, looseness {dials.Looseness:P0}, touch {dials.Touch:P0}, tempo breath {dials.Tempo:P0}."));
            context.Messages.WriteLine("Start quietly: drums reach harmful levels fast on headphones.");
            return CommandLine.Done;
        });
        return command;
    }

    private static Option<double?> Percent(string name, string what) =>
        SharedOptions.Number(name, $"{what}, in percent: 0 as written, 100 as played, up to 200.", 0, 200);
}
