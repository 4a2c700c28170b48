using System.Diagnostics;
using System.Globalization;
using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Units;

namespace Hindbeat.Speed;

/// <summary>How long a page of 32 bars takes, from the performance to its display list, and from there to each file.</summary>
internal static class ChartSpeed
{
    private const int Bars = 32;
    private const int Runs = 51;

    public static void Print(TextWriter output)
    {
        InventedPassage passage = InventedPassage.Make(20);
        FeelReport feel = FeelAnalysis.Measure(passage.Performance);
        Performance performance = Lengthen(passage.Performance);
        var options = new ChartOptions { Title = passage.Name };
        Chart chart = ChartMaker.Make(performance, feel, options);
        IReadOnlyList<DisplayPage> pages = Engraver.Engrave(chart, PageFormat.A4);
        output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{chart.Bars.Count} bars, {performance.Hits.Count} strokes, {pages.Count} pages; median of {Runs} runs after the first"));
        Row(output, "written and engraved", () => Engraver.Engrave(ChartMaker.Make(performance, feel, options), PageFormat.A4));
        Row(output, "drawn as SVG", () =>
        {
            foreach (DisplayPage page in pages)
                SvgPage.Write(page, TextWriter.Null);
        });
        Row(output, "drawn as PDF", () => PdfPages.Write(pages, Stream.Null));
        Row(output, "drawn as PNG, 200 dpi", () =>
        {
            foreach (DisplayPage page in pages)
                PngPage.Write(page, Stream.Null, 200);
        });
    }

    private static void Row(TextWriter output, string what, Action action)
    {
        action();
        var times = new double[Runs];
        TimeSpan worked = Environment.CpuUsage.TotalTime;
        for (int i = 0; i < Runs; i++)
        {
            long start = Stopwatch.GetTimestamp();
            action();
            times[i] = Stopwatch.GetElapsedTime(start).TotalMilliseconds;
        }

        // On a machine that others use the processor's time tells more than the clock's.
        double work = (Environment.CpuUsage.TotalTime - worked).TotalMilliseconds / Runs;
        Array.Sort(times);
        output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"  {what,-24} {times[Runs / 2],7:0.0} ms by the clock, {work,7:0.0} ms of processor time on average"));
    }

    /// <summary>The passage over and over on a steady pulse.</summary>
    private static Performance Lengthen(Performance passage)
    {
        Pulse pulse = Pulse.Steady(passage.Meter, passage.Pulse.MeanTempo, AudioTime.Zero, (Bars * passage.Meter.BeatsPerBar) + 1);
        var hits = new List<Hit>();
        int length = passage.Pulse.LastBar - passage.Pulse.FirstBar;
        for (int from = 0; from < Bars; from += length)
        {
            foreach (Hit hit in passage.Hits.Where(hit => hit.Position is not null && hit.Position.Value.Bar - passage.Pulse.FirstBar < Math.Min(length, Bars - from)))
            {
                BarPosition at = hit.Position!.Value;
                var place = new BarPosition(at.Bar - passage.Pulse.FirstBar + 1 + from, at.Beat, at.Within);
                hits.Add(hit with { Position = place, Time = pulse.TimeAt(place) });
            }
        }

        return new Performance(pulse, hits);
    }
}
