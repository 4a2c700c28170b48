using System.Diagnostics;
using System.Globalization;
using Hindbeat;
using Hindbeat.Speed;
using Hindbeat.Feel;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Units;

// How fast is a whole study, and how much memory does it take? Prints a table. Machines are shared and noisy:
// read the multiples of real time beside each other, from one run, not as promises.
if (args is ["chart", ..])
{
    ChartSpeed.Print(Console.Out);
    return;
}

if (args is ["rebuild", var rebuilt])
{
    RebuildSpeed.Print(double.Parse(rebuilt, CultureInfo.InvariantCulture), 5);
    return;
}

// Peaks are of a whole process, so each length is a run of its own.
if (args is ["rebuild-memory", var minutes])
{
    RebuildMemory.Print(Console.Out, double.Parse(minutes, CultureInfo.InvariantCulture));
    return;
}

// The recording that the others are timed on, to be used by hand: "recording FILE SECONDS", then "study-memory FILE" or any other program.
if (args is ["recording", var file, var length0])
{
    LongRecording.Render(file, double.Parse(length0, CultureInfo.InvariantCulture));
    return;
}

if (args is ["study-memory", var studied])
{
    if (IsMissing(studied))
        return;
    var one = StudyMaker.Make(studied, new StudyOptions());
    Process.GetCurrentProcess().Refresh();
    Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"one study of {one.Recording?.Seconds:0} s, {one.Performance.Hits.Count} strokes: peak {Process.GetCurrentProcess().PeakWorkingSet64 / 1048576.0:0} MiB"));
    return;
}

if (args is ["listening" or "study", ..])
    args = args[1..];
bool studyOnly = Environment.GetCommandLineArgs() is [_, "study", ..];
bool listening = Environment.GetCommandLineArgs() is [_, "listening", ..];
double seconds = args.Length > 0 && double.TryParse(args[0], CultureInfo.InvariantCulture, out double wanted) ? wanted : 180.0;
int runs = args.Length > 1 && int.TryParse(args[1], CultureInfo.InvariantCulture, out int more) ? more : 5;
if (args.Length > 2 && IsMissing(args[2]))
    return;
string folder = Directory.CreateTempSubdirectory("hindbeat-speed-").FullName;
try
{
    string wav = args.Length > 2 ? args[2] : Path.Combine(folder, "recording.wav");
    if (args.Length <= 2)
        LongRecording.Render(wav, seconds);

    // One core: what the figure is stated for.
    if (OperatingSystem.IsLinux() || OperatingSystem.IsWindows())
        Process.GetCurrentProcess().ProcessorAffinity = 1;
    if (listening)
    {
        ListeningSpeed.Print(wav, runs);
        return;
    }

    var stages = new StageClock();
    var watch = new Stopwatch();
    var rows = new List<(double Whole, double Processor, Dictionary<StudyStage, double> Stages)>();
    double length = 0;
    (long allocated, int collected) = (0, 0);
    for (int run = 0; run <= runs; run++)
    {
        (allocated, collected) = (GC.GetTotalAllocatedBytes(), GC.CollectionCount(0));
        watch.Restart();
        stages.Start();
        var study = StudyMaker.Make(wav, new StudyOptions(), stages);
        length = study.Recording?.Seconds ?? 0;
        var times = stages.Stop();
        if (run > 0)
            rows.Add((watch.Elapsed.TotalSeconds, times.Values.Sum(), times));
        else
            Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"first study (with start-up compilation): {times.Values.Sum():0.00} s of processor time, {length / times.Values.Sum():0} × real time, {study.Performance.Hits.Count} strokes"));
    }

    // By processor time: on a shared machine the clock also measures the neighbours.
    rows.Sort((a, b) => a.Processor.CompareTo(b.Processor));
    var middle = rows[rows.Count / 2];
    Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"median of {runs} further studies of {length:0} s on one core: {middle.Processor:0.00} s of processor time, {length / middle.Processor:0} × real time ({middle.Whole:0.00} s, {length / middle.Whole:0} × by the clock)"));
    foreach (var (stage, time) in middle.Stages)
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"  {stage,-10} {time,6:0.00} s  {100 * time / middle.Processor,3:0} %, {1000 * time / length:0.00} ms a second"));
    // Neighbours only ever add: the least of many is what a change is judged by.
    double least = rows[0].Processor;
    Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"  the quickest: {least:0.00} s of processor time, {length / least:0} × real time; by stage at the least {string.Join(", ", middle.Stages.Keys.Select(stage => string.Create(CultureInfo.InvariantCulture, $"{stage} {1000 * rows.Min(row => row.Stages[stage]) / length:0.00}")))} ms a second"));
    Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"  the last study took {(GC.GetTotalAllocatedBytes() - allocated) / 1048576.0:0} MiB from the heap, {GC.CollectionCount(0) - collected} collections"));
    Process.GetCurrentProcess().Refresh();
    Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"peak memory of the process after the studies: {Process.GetCurrentProcess().PeakWorkingSet64 / 1048576.0:0} MiB"));
    ForeignTrackers.Print(wav, middle.Whole, middle.Processor);
    if (studyOnly)
        return;
    RebuildSpeed.Print(length, runs);
    Process.GetCurrentProcess().Refresh();
    Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"peak memory of the process: {Process.GetCurrentProcess().PeakWorkingSet64 / 1048576.0:0} MiB"));
}
finally
{
    Directory.Delete(folder, recursive: true);
}

static bool IsMissing(string file)
{
    if (File.Exists(file))
        return false;
    Console.Error.WriteLine($"There is no file {file}; name a recording to time, or none to have one made.");
    Environment.ExitCode = 1;
    return true;
}

/// <summary>The invented passage over and over, so that any length can be studied.</summary>
internal static class LongRecording
{
    public static void Render(string wav, double seconds)
    {
        InventedPassage passage = InventedPassage.Make(20);
        var plan = RebuildPlan.Make(passage.Performance, FeelAnalysis.Measure(passage.Performance), Dials.AsPlayed);
        double bars = passage.Performance.Pulse.LastBar - passage.Performance.Pulse.FirstBar + 1;
        Seconds round = passage.Performance.Pulse.MeanTempo.Beat * (bars * passage.Performance.Meter.BeatsPerBar);
        var strokes = new List<PlannedStroke>();
        for (int i = 0; round.Value * i < seconds; i++)
            strokes.AddRange(plan.Select(stroke => stroke with { Time = stroke.Time + (round * i) }).Where(stroke => stroke.Time.TotalSeconds < seconds - 1));
        using WavWriter writer = WavWriter.ToFile(wav, 44100, 16);
        Renderer.Stream(strokes, HouseKit.Load(), 44100, writer.Write);
        writer.Complete();
    }
}

/// <summary>Times the stages of a study by the reports of its progress: seconds of processor time.</summary>
internal sealed class StageClock : IProgress<StudyProgress>
{
    private TimeSpan _from;
    private Dictionary<StudyStage, double> _times = [];
    private StudyStage _stage;

    public void Start()
    {
        _times = [];
        _stage = StudyStage.Reading;
        _from = ProcessorTime();
    }

    public void Report(StudyProgress value)
    {
        if (value.Stage == _stage)
            return;
        Close();
        _stage = value.Stage;
    }

    public Dictionary<StudyStage, double> Stop()
    {
        Close();
        return _times;
    }

    private static TimeSpan ProcessorTime()
    {
        using Process me = Process.GetCurrentProcess();
        return me.TotalProcessorTime;
    }

    private void Close()
    {
        TimeSpan now = ProcessorTime();
        _times[_stage] = _times.GetValueOrDefault(_stage) + (now - _from).TotalSeconds;
        _from = now;
    }
}
