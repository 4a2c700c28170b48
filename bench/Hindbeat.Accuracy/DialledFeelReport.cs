using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Studies;

namespace Hindbeat.Accuracy;

/// <summary>Does a study of a rebuild's sound give back what was dialled? The whole chain: plan, sound, listening, pulse, feel.</summary>
internal static class DialledFeelReport
{
    private static readonly (string Name, Dials Dials)[] Versions =
    [
        ("as written", Dials.AsWritten),
        ("swing 50 %", Dials.AsWritten with { Swing = 0.5 }),
        ("swing only", Dials.SwingOnly),
        ("laid back only", Dials.LaidBackOnly),
        ("swung and laid back", Dials.SwungAndLaidBack),
        ("lay-back 200 %", Dials.SwungAndLaidBack with { LayBack = 2 }),
        ("swing set to 1.30", Dials.LaidBackOnly with { SwingTo = new SwingSetting(SwingLevel.Sixteenth, 1.3) }),
    ];

    public static void Print(TextWriter output)
    {
        output.WriteLine("## Studying a rebuild: what was dialled and what its sound gives back");
        output.WriteLine();
        var table = new Table("version", "seed", "swing planned", "studied", "kick ms planned", "studied", "snare ms planned", "studied");
        string folder = Directory.CreateTempSubdirectory("hindbeat-dials-").FullName;
        try
        {
            var swingErrors = new List<double>();
            var layBackErrors = new List<double>();
            foreach ((string name, Dials dials) in Versions)
            {
                foreach (ulong seed in new ulong[] { 1, 2 })
                {
                    InventedPassage passage = InventedPassage.Make(seed);
                    FeelReport measured = FeelAnalysis.Measure(passage.Performance);
                    var plan = RebuildPlan.Make(passage.Performance, measured, dials);
                    string wav = Path.Combine(folder, "rebuild.wav");
                    Renderer.RenderToWav(plan, HouseKit.Load(), wav);
                    // The same measure on the planned strokes is the truth that the sound should give back.
                    FeelReport planned = FeelAnalysis.Measure(new Performance(
                        RebuildTempo.PulseOf(passage.Performance, dials),
                        plan.Select((stroke, i) => passage.Performance.Hits[i] with { Time = stroke.Time })));
                    Study study = StudyMaker.Make(wav, new StudyOptions { Meter = Meter.FourFour, Tempo = passage.Performance.Pulse.MeanTempo });
                    table.Add(name, seed.ToString(CultureInfo.InvariantCulture),
                        Number(Ratio(planned)), Number(Ratio(study.Feel)),
                        Number(LayBack(planned, KitPiece.Kick)), Number(LayBack(study.Feel, KitPiece.Kick)),
                        Number(LayBack(planned, KitPiece.Snare)), Number(LayBack(study.Feel, KitPiece.Snare)));
                    swingErrors.Add(Math.Abs(Ratio(planned) - Ratio(study.Feel)));
                    layBackErrors.Add(Math.Abs(LayBack(planned, KitPiece.Kick) - LayBack(study.Feel, KitPiece.Kick)));
                    layBackErrors.Add(Math.Abs(LayBack(planned, KitPiece.Snare) - LayBack(study.Feel, KitPiece.Snare)));
                }
            }

            output.WriteLine(table);
            output.WriteLine(string.Create(CultureInfo.InvariantCulture,
                $"Largest error of swing {swingErrors.Max():0.000} (median {Statistics.Median(swingErrors):0.000}), of lay-back {layBackErrors.Max():0.00} ms (median {Statistics.Median(layBackErrors):0.00} ms).\n"));
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static string Number(double value) => double.IsNaN(value) ? "–" : value.ToString("0.00", CultureInfo.InvariantCulture);

    private static double Ratio(FeelReport report) =>
        report.Swing.Where(figure => figure.Level == SwingLevel.Sixteenth).MaxBy(figure => figure.Pairs)?.Ratio.Value ?? double.NaN;

    private static double LayBack(FeelReport report, KitPiece piece) =>
        report.LayBack.FirstOrDefault(figure => figure.Piece == piece)?.Milliseconds.Value ?? double.NaN;
}
