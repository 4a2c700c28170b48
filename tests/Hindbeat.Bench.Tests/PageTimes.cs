using System.Diagnostics;
using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Studies;
using Hindbeat.Units;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>
/// Measures, not tests: how long one waits for the page. Runs when HINDBEAT_MEASURE names a file, and writes what it measured there; a
/// busy machine would make a bound here fail for nothing.
/// </summary>
[Collection(OneBrowser.Name)]
public class PageTimes(BenchInABrowser bench)
{
    private const int Repeats = 13; // of eight bars with 158 strokes: 2,054 strokes in 4½ minutes

    [SkippableFact]
    public async Task Waits()
    {
        Skip.If(File is null, "Only when HINDBEAT_MEASURE names a file.");
        Study three = bench.Library.Save(Long(9, "Three minutes")), many = bench.Library.Save(Long(Repeats, "Two thousand strokes"));
        IBrowserContext context = await bench.NewContextAsync();
        IPage page = await context.NewPageAsync();
        Stopwatch watch = Stopwatch.StartNew();
        await using BenchServer server = await BenchServer.StartAsync(new BenchSettings { LibraryFolder = bench.Folder });
        await page.GotoAsync(server.Address.ToString());
        Say("first page shown, from start", watch);
        await page.Locator("[data-library][data-live]").WaitForAsync();
        Say("first page live, from start", watch);
        foreach (Study study in new[] { three, many })
        {
            for (int i = 0; i < 2; i++)
            {
                watch.Restart();
                await page.GotoAsync(new Uri(server.Address, $"study/{study.Id}").ToString(), new PageGotoOptions { WaitUntil = WaitUntilState.Commit });
                await page.Locator("[data-chart] svg").WaitForAsync();
                Say($"{study.Name}, {study.Performance.Hits.Count} strokes: chart shown", watch);
                await page.Locator("article[data-live]").WaitForAsync();
                Say($"{study.Name}: live", watch);
                await page.Locator("[data-drawn]").WaitForAsync();
                Say($"{study.Name}: sound drawn", watch);
                await page.Locator("[data-sound]").WaitForAsync();
                Say($"{study.Name}: whole sound there", watch);
            }
        }

        await page.Keyboard.PressAsync("Space");
        await page.WaitForTimeoutAsync(1000);
        double[] frames = await page.EvaluateAsync<double[]>("""
            () => new Promise((done) => {
              const times = [];
              const next = (time) => (times.push(time), times.length > 300 ? done(times.slice(1).map((each, i) => each - times[i])) : requestAnimationFrame(next));
              requestAnimationFrame(next);
            })
            """);
        Array.Sort(frames);
        Write(string.Create(CultureInfo.InvariantCulture, $"frames while playing with {many.Performance.Hits.Count} strokes in view: median {frames[frames.Length / 2]:0.0} ms, 95 % within {frames[(int)(0.95 * frames.Length)]:0.0} ms, worst {frames[^1]:0.0} ms"));
        await context.CloseAsync();

        (Window window, Ear _) = await Ear.OpenAsync(bench, bench.Whole);
        await using Window open = window;
        await window.Page.CheckAsync("input[name=version][value=own]");
        await window.Page.EvaluateAsync("() => document.activeElement.blur()");
        await window.Page.Keyboard.PressAsync("Space");
        await window.Page.WaitForTimeoutAsync(1500);
        double[] dials = await window.Page.EvaluateAsync<double[]>("""
            async () => {
              const start = AudioBufferSourceNode.prototype.start;
              const waits = [];
              const dial = document.querySelector("[data-dial=swing]");
              for (let i = 0; i < 12; i++) {
                const turned = performance.now();
                const heard = new Promise((done) => {
                  AudioBufferSourceNode.prototype.start = function (when, ...rest) {
                    done(performance.now() - turned + 1000 * (when - this.context.currentTime));
                    return start.call(this, when, ...rest);
                  };
                });
                dial.value = 0.1 + 0.1 * i;
                dial.dispatchEvent(new Event("input", { bubbles: true }));
                waits.push(await heard);
                await new Promise((done) => setTimeout(done, 700));
              }
              return waits;
            }
            """);
        Write("dial to sound, one after another: " + string.Join(", ", dials.Select(wait => wait.ToString("0", CultureInfo.InvariantCulture))) + " ms");
        Array.Sort(dials);
        Write(string.Create(CultureInfo.InvariantCulture, $"dial to sound, eight bars: median {dials[dials.Length / 2]:0} ms, least {dials[0]:0}, most {dials[^1]:0}"));
    }

    /// <summary>Over five minutes of one playing the playhead must not leave the sound by 10 ms; CI, whose time is bounded, plays one.</summary>
    [SkippableFact]
    public async Task Drift()
    {
        Skip.If(File is null, "Only when HINDBEAT_MEASURE names a file.");
        double minutes = Environment.GetEnvironmentVariable("CI") is null ? 5 : 1;
        Study study = bench.Library.Save(Long(3 * (int)minutes, "Played on and on"));
        (Window window, Ear ear) = await Ear.OpenAsync(bench, study);
        await using Window open = window;
        using LoadedSound recording = SoundLoader.Load(study.Source!);
        float[] original = new float[recording.Analysis.Length];
        recording.Analysis.Read(0, original);
        await window.Page.Keyboard.PressAsync("Space");
        Stopwatch watch = Stopwatch.StartNew();
        var lags = new List<(double At, double Ms)>();
        double end = (60 * minutes) - 5;
        foreach (double second in new[] { 5, 6, 7, 8, 9, end / 2, end, end + 1, end + 2, end + 3, end + 4 })
        {
            await Task.Delay(TimeSpan.FromSeconds(Math.Max(0, second - watch.Elapsed.TotalSeconds - 0.8)));
            await ear.BeginAsync();
            await Task.Delay(800);
            lags.Add((second, await PlayheadLag.MeasureAsync(window.Page, ear, study, original)));
        }

        // A single reading can be late by a frame or two when the machine is busy; the middle one of five at either end tells the drift.
        double drift = Middle(lags.TakeLast(5)) - Middle(lags.Take(5));
        Write(string.Create(CultureInfo.InvariantCulture, $"playhead against sound over {minutes:0} min: drift {drift:0.0} ms, readings {lags.Min(lag => lag.Ms):0.0} to {lags.Max(lag => lag.Ms):0.0} ms"));
        Assert.InRange(drift, -10, 10);
        bench.Library.Delete(study.Id);

        static double Middle(IEnumerable<(double At, double Ms)> readings) => readings.Select(reading => reading.Ms).Order().ElementAt(2);
    }

    private static string? File => Environment.GetEnvironmentVariable("HINDBEAT_MEASURE");

    private static void Write(string line) => System.IO.File.AppendAllText(File!, line + Environment.NewLine);

    private static void Say(string what, Stopwatch watch) => Write(string.Create(CultureInfo.InvariantCulture, $"{what}: {watch.Elapsed.TotalMilliseconds:0} ms"));

    /// <summary>The invented passage so many times over, sound and all.</summary>
    private Study Long(int times, string name)
    {
        Performance once = bench.Whole.Performance;
        StereoSound sound = SoundLoader.LoadStereo(bench.Whole.Source!);
        Seconds step = once.Pulse.MeanTempo.Beat * (8 * 4);
        int frames = (int)(step.Value * sound.SampleRate);
        float[] left = [.. Enumerable.Range(0, times).SelectMany(_ => sound.Left[..frames])], right = [.. Enumerable.Range(0, times).SelectMany(_ => sound.Right[..frames])];
        string path = Path.Combine(bench.Folder, name + ".wav");
        WavFile.Write(path, new StereoSound(left, right, sound.SampleRate), bits: 16);
        Pulse pulse = Pulse.Steady(Meter.FourFour, once.Pulse.MeanTempo, once.Pulse.Beats[0].Time, (32 * times) + 1);
        var performance = new Performance(pulse, Enumerable.Range(0, times).SelectMany(round => once.Hits.Select(hit => hit with
        {
            Time = hit.Time + (step * round),
            Position = hit.Position is { } place ? new BarPosition(place.Bar + (8 * round), place.Beat, place.Within) : null,
        })));
        return bench.Whole with { Id = "", Name = name, Source = path, To = AudioTime.Zero + (step * times), Performance = performance };
    }
}
