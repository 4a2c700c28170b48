using System.Diagnostics;
using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Rebuilding;
using Hindbeat.Units;

namespace Hindbeat.Speed;

/// <summary>Does a long rebuild need more memory than a short one? The peak of this process for one length.</summary>
internal static class RebuildMemory
{
    public static void Print(TextWriter output, double minutes)
    {
        InventedPassage passage = InventedPassage.Make(20);
        var plan = RebuildPlan.Make(passage.Performance, FeelAnalysis.Measure(passage.Performance), Dials.AsPlayed);
        double round = passage.Performance.Pulse.MeanTempo.Beat.Value * passage.Performance.Pulse.Beats.Count;
        PlannedStroke[] strokes = [.. Enumerable.Range(0, (int)(60 * minutes / round) + 1).SelectMany(i => plan.Select(stroke => stroke with { Time = stroke.Time + Seconds.Of(i * round) }))];
        string path = Path.Combine(Path.GetTempPath(), $"hindbeat-memory-{Environment.ProcessId}.wav");
        try
        {
            Seconds length = Renderer.RenderToWav(strokes, HouseKit.Load(), path);
            using Process process = Process.GetCurrentProcess();
            output.WriteLine(string.Create(CultureInfo.InvariantCulture,
                $"{length.Value / 60:0.0} minutes, {strokes.Length} strokes, file of {new FileInfo(path).Length / 1048576.0:0} MiB: peak of the process {process.PeakWorkingSet64 / 1048576.0:0} MiB, handed out in all {GC.GetTotalAllocatedBytes() / 1048576.0:0} MiB"));
        }
        finally
        {
            File.Delete(path);
        }
    }
}
