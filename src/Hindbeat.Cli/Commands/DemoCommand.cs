using System.CommandLine;
using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Studies;

namespace Hindbeat.Cli.Commands;

/// <summary>
/// <c>hindbeat demo</c>: renders an invented passage with a known feel, studies the sound alone, writes
/// chart and rebuilds, and prints what was put in beside what was measured.
/// </summary>
internal static class DemoCommand
{
    private const ulong DefaultSeed = 20;

    public static Command Make(CommandContext context)
    {
        var to = new Option<string>("--out") { Description = "Folder for the files.", HelpName = "DIR", DefaultValueFactory = _ => "hindbeat-demo" };
        var seed = new Option<ulong>("--seed") { Description = "Another seed gives other small deviations.", DefaultValueFactory = _ => DefaultSeed };
        var command = new Command("demo", "The whole job on an invented passage: render, study, chart, rebuild, compare.") { to, seed };
        command.SetAction((parsed, cancel) =>
        {
            Run(context, parsed.GetValue(to)!, parsed.GetValue(seed), cancel);
            return Task.FromResult(CommandLine.Done);
        });
        return command;
    }

    private static void Run(CommandContext context, string folder, ulong seed, CancellationToken cancel)
    {
        Directory.CreateDirectory(folder);
        string PathOf(string name) => Path.Combine(folder, name);

        InventedPassage passage = InventedPassage.Make(seed);
        FeelReport trueFeel = FeelAnalysis.Measure(passage.Performance);
        RebuildFiles.WriteHouse(passage.Performance, trueFeel, [(Dials.AsPlayed, PathOf("recording.wav"))], 24, cancel);
        context.Messages.WriteLine($"Rendered {passage.Name} to {PathOf("recording.wav")}.");

        // From here on only the sound is known.
        var progress = new ProgressLine(context.Messages, !Console.IsErrorRedirected);
        Study study = StudyMaker.Make(PathOf("recording.wav"), new StudyOptions { Name = passage.Name, Created = context.Clock.GetUtcNow() }, progress, cancel);
        progress.End();
        study = StudyLibrary.Open(PathOf("library")).Save(study with { Id = "demo" });

        OutputFile.Write(PathOf("study.json"), stream => StudyDocuments.From(study).Write(stream));
        var named = (study.Name, study.Performance, study.Feel);
        foreach (string chart in new[] { "chart.svg", "chart.png", "chart.musicxml", "chart-as-written.mid" })
            ChartFiles.Write(named, PathOf(chart), ChartWish.Plain);
        ChartFiles.Write(named, PathOf("chart-as-played.mid"), ChartWish.Plain with { PlayedMidi = true });
        string[] versions = ["as-written", "swing-only", "laid-back-only", "as-played", "exaggerated"];
        RebuildFiles.WriteHouse(study.Performance, study.Feel, [.. versions.Select(name => (Dials.Ready[name], PathOf($"rebuild-{name}.wav")))], 24, cancel);

        PrintComparison(context.Output, passage, study);
        context.Messages.WriteLine($"Files are in {folder}; 'hindbeat open demo --library {PathOf("library")}' shows the study.");
        context.Messages.WriteLine(PracticeCare.Loudness);
    }

    private static void PrintComparison(TextWriter output, InventedPassage passage, Study study)
    {
        FeelReport feel = study.Feel;
        DemoTruth truth = passage.Truth;
        SwingFigure? swing = feel.Swing.FirstOrDefault(figure => figure.Level == SwingLevel.Sixteenth);
        LayBackFigure? LayBackOf(KitPiece piece) => feel.LayBack.FirstOrDefault(figure => figure.Piece == piece);

        output.WriteLine(passage.Name);
        output.WriteLine($"{"",-22}{"put in",12}{"measured",14}   95 % interval");
        Row(output, "strokes", Text($"{passage.Performance.Hits.Count}"), Text($"{study.Performance.Hits.Count}"), string.Empty);
        Row(output, "tempo, bpm", Text($"{passage.Performance.Pulse.MeanTempo.Value:0.0}"), Text($"{feel.Tempo.Bpm.Value:0.0}"), string.Empty);
        Row(output, "swing of 16ths", Text($"{truth.SwingRatio:0.00}"), swing is null ? "not measured" : Text($"{swing.Ratio.Value:0.00}"),
            swing is null ? string.Empty : Text($"{swing.Ratio.Low:0.00} to {swing.Ratio.High:0.00}"));
        LayBack(output, "kick behind hats, ms", truth.LayBack[KitPiece.Kick].Milliseconds, LayBackOf(KitPiece.Kick));
        LayBack(output, "snare behind hats, ms", truth.LayBack[KitPiece.Snare].Milliseconds, LayBackOf(KitPiece.Snare));
        Row(output, "drift, bpm a minute", Text($"{truth.DriftBpmPerMinute:+0.0;-0.0;0.0}"), Text($"{feel.Tempo.DriftBpmPerMinute.Value:+0.0;-0.0;0.0}"),
            Text($"{feel.Tempo.DriftBpmPerMinute.Low:+0.0;-0.0;0.0} to {feel.Tempo.DriftBpmPerMinute.High:+0.0;-0.0;0.0}"));
        output.WriteLine();
        output.WriteLine($"Measured against: {feel.ReferenceName}. Positive = late.");
    }

    private static void LayBack(TextWriter output, string name, double putIn, LayBackFigure? measured) => Row(
        output, name, Text($"{putIn:+0.0;-0.0;0.0}"),
        measured is null ? "not measured" : Text($"{measured.Milliseconds.Value:+0.0;-0.0;0.0}"),
        measured is null ? string.Empty : Text($"{measured.Milliseconds.Low:+0.0;-0.0;0.0} to {measured.Milliseconds.High:+0.0;-0.0;0.0}"));

    private static void Row(TextWriter output, string name, string putIn, string measured, string interval) =>
        output.WriteLine($"{name,-22}{putIn,12}{measured,14}   {interval}".TrimEnd());

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
