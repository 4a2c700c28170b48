using System.Diagnostics;
using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Units;

/// <summary>How fast are rebuilds rendered and recordings slowed? Medians of processor time.</summary>
internal static class RebuildSpeed
{
    public static void Print(double seconds, int runs)
    {
        InventedPassage passage = InventedPassage.Make(20);
        var plan = RebuildPlan.Make(passage.Performance, FeelAnalysis.Measure(passage.Performance), Dials.AsPlayed);
        double round = passage.Performance.Pulse.MeanTempo.Beat.Value * passage.Performance.Pulse.Beats.Count;
        PlannedStroke[] strokes = [.. Enumerable.Range(0, Math.Max(1, (int)(seconds / round))).SelectMany(i => plan.Select(stroke => stroke with { Time = stroke.Time + Seconds.Of(i * round) }))];
        Kit kit = HouseKit.Load();
        StereoSound sound = Renderer.Render(strokes, kit);
        Line("rendering into memory, loudness measured and set", sound.Duration.Value, runs, () => Renderer.Render(strokes, kit));
        Line("rendering in a stream (sounded twice: once to measure)", sound.Duration.Value, runs, () => Renderer.Stream(strokes, kit, 44100, (_, _) => { }));
        double[] attacks = [.. strokes.Select(stroke => stroke.Time.TotalSeconds).Order()];
        foreach (double speed in new[] { 0.25, 0.5, 0.75, 1.5 })
            Line(FormattableString.Invariant($"slowing to {100 * speed:0} %, seconds of new sound"), sound.Duration.Value / speed, runs, () => AttackTrueStretch.Stream(sound, attacks, speed, (_, _) => { }));
        Line("attacks found in the waveform, seconds of recording", sound.Duration.Value, runs, () => AttackFinder.Find(sound, attacks));
        Line("dial moved: eight bars rendered, milliseconds", double.NaN, runs, () => Renderer.Render(plan, kit));
        Line("own kit cut from the recording", sound.Duration.Value, 1, () => OwnKit.Cut(sound, AudioTime.Zero, passage.Performance, kit));
    }

    private static void Line(string what, double seconds, int runs, Action act)
    {
        act();
        var times = new double[runs];
        for (int i = 0; i < runs; i++)
        {
            // Processor time: on a shared machine the clock tells of the others.
            TimeSpan start = ProcessorTime();
            act();
            times[i] = (ProcessorTime() - start).TotalSeconds;
        }

        Array.Sort(times);
        double median = times[runs / 2];
        Console.WriteLine(double.IsNaN(seconds)
            ? string.Create(CultureInfo.InvariantCulture, $"  {what}: {1000 * median:0}")
            : string.Create(CultureInfo.InvariantCulture, $"  {what}: {seconds / median:0} × real time"));
    }

    private static TimeSpan ProcessorTime()
    {
        using Process process = Process.GetCurrentProcess();
        return process.TotalProcessorTime;
    }
}
