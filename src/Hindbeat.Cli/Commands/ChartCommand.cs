using System.CommandLine;
using Hindbeat.Charting;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Cli.Commands;

/// <summary><c>hindbeat chart STUDY --out FILE</c>: the page (SVG, PNG, PDF), MusicXML or MIDI, by the file's ending.</summary>
internal static class ChartCommand
{
    public static Command Make(CommandContext context)
    {
        Argument<string> study = SharedOptions.StudyArgument();
        var to = new Option<string>("--out")
        {
            Description = "File to write: .svg, .png or .pdf (pages), .musicxml or .mxl, or .mid.",
            HelpName = "FILE",
            Required = true,
        };
        var played = new Option<bool>("--played") { Description = "MIDI as played, every stroke where it was struck (default: as written)." };
        var over = new Option<bool>("--played-over-written") { Description = "Noteheads where they were struck, hairlines where they are written, size by loudness." };
        var offsets = new Option<bool>("--offsets") { Description = "With --played-over-written: each stroke's offset in ms (+ is late)." };
        var strips = new Option<bool>("--tempo-and-touch") { Description = "Under each line the tempo of each beat and the loudness of each stroke." };
        var typical = new Option<bool>("--typical-bar") { Description = "One bar: the strokes that come back, and how often." };
        var folded = new Option<bool>("--folded-bar") { Description = "All bars laid on one, a row a piece, instead of the chart (.svg, .png or .pdf)." };
        var repeats = new Option<bool>("--repeats") { Description = "Write bars that repeat once, between repeat signs." };
        var alike = new Option<bool>("--repeats-alike") { Description = "As --repeats, also for bars that differ only in ghost and soft strokes; those say in how many bars they are." };
        var fours = new Option<bool>("--eighths-in-fours") { Description = "One beam for the four plain eighths of half a 4/4 bar (default: a beam a beat)." };
        var counts = new Option<bool>("--counts") { Description = "Print the counts under the staff." };
        var oneVoice = new Option<bool>("--one-voice") { Description = "Hands and feet in one voice." };
        var swing = new Option<string?>("--swing-writing")
        {
            Description = "How swung pairs are written: straight (with a direction), dotted, triplet or as-placed (default: as the study was edited, else straight).",
        };
        swing.AcceptOnlyFromAmong("straight", "dotted", "triplet", "as-placed");
        var staff = new Option<string>("--staff") { Description = "Lines and heads: guidelines or hats-on-top-line.", DefaultValueFactory = _ => "guidelines" };
        staff.AcceptOnlyFromAmong("guidelines", "hats-on-top-line");
        var paper = new Option<string>("--paper") { Description = "Paper size: a4 or letter.", DefaultValueFactory = _ => "a4" };
        paper.AcceptOnlyFromAmong("a4", "letter");
        Option<string?> library = SharedOptions.Library();
        var command = new Command("chart", "Write a study's chart: pages, MusicXML or MIDI.")
        {
            study, to, played, over, offsets, strips, typical, folded, repeats, alike, fours, counts, oneVoice, swing, staff, paper, library,
        };
        command.SetAction(parsed =>
        {
            string path = parsed.GetValue(to)!;
            if (!ChartFiles.Endings.Contains(Path.GetExtension(path).ToLowerInvariant()))
                throw new InputException($"'{path}' does not say what to write; end it in {string.Join(", ", ChartFiles.Endings)}.");
            if (parsed.GetValue(offsets) && !parsed.GetValue(over))
                throw new InputException("--offsets goes with --played-over-written; did you forget it?");
            if (parsed.GetValue(folded) && Path.GetExtension(path).ToLowerInvariant() is not (".svg" or ".png" or ".pdf"))
                throw new InputException("The folded bar is a picture; end the file in .svg, .png or .pdf.");
            FoundStudy found = StudyShelf.FindWhole(parsed.GetValue(study)!, SharedOptions.LibraryFolder(parsed, library));
            var options = new ChartOptions
            {
                ShowCounts = parsed.GetValue(counts),
                OneVoice = parsed.GetValue(oneVoice),
                EighthsInFours = parsed.GetValue(fours),
                Staff = parsed.GetValue(staff) == "guidelines" ? StaffMap.Guidelines : StaffMap.HatsOnTopLine,
            };
            // What the command asks for goes before what the study's edits say.
            if (found.Kept is { } kept)
                options = StudyEditor.Writing(kept, options);
            if (parsed.GetValue(repeats) || parsed.GetValue(alike))
                options = options with { FoldRepeats = true, RepeatAlike = parsed.GetValue(alike) };
            if (parsed.GetValue(swing) is { } writing)
                options = options with { SwingWriting = SwingWritingOf(writing) };
            var wish = new ChartWish(
                parsed.GetValue(paper) == "letter" ? PageFormat.Letter : PageFormat.A4,
                options,
                new EngravingLook { PlayedOverWritten = parsed.GetValue(over), Offsets = parsed.GetValue(offsets), TempoAndTouch = parsed.GetValue(strips) },
                parsed.GetValue(played),
                parsed.GetValue(typical),
                parsed.GetValue(folded));
            foreach (string written in ChartFiles.Write((found.Name, found.Performance, found.Feel), path, wish))
                context.Messages.WriteLine($"Wrote {written}");
            return CommandLine.Done;
        });
        return command;
    }

    private static SwingWriting SwingWritingOf(string word) => word switch
    {
        "dotted" => SwingWriting.Dotted,
        "triplet" => SwingWriting.Triplet,
        "as-placed" => SwingWriting.AsPlaced,
        _ => SwingWriting.Straight,
    };
}
