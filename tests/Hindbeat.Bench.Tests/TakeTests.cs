using System.Globalization;
using System.Runtime.InteropServices;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Studies;
using Hindbeat.Takes;
using Hindbeat.Units;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>A take is played now: what comes in by microphone or MIDI is captured, its delay measured, laid on the passage, compared and kept.</summary>
[Collection(OneBrowser.Name)]
public class TakeTests(BenchInABrowser bench)
{
    [SkippableFact]
    public async Task The_delay_of_a_known_way_is_measured_and_taken_out_of_a_take()
    {
        Study study = bench.Fresh();
        await using Window window = await bench.OpenStudyAsync(study, FakeInputs.Loop);
        IPage page = window.Page;
        await WriteMicrophoneAsync([0f, 0f]);
        await page.ClickAsync("[data-measure]");
        await Assertions.Expect(page.Locator("[data-delay]")).ToContainTextAsync("±", new LocatorAssertionsToContainTextOptions { Timeout = 40_000 });
        string said = await page.Locator("[data-delay]").InnerTextAsync();
        double measured = double.Parse(said.Split(": ")[1].Split(" ±")[0], CultureInfo.InvariantCulture);
        Assert.Equal(FakeInputs.LoopMs, measured, 1.0);

        // What sounds is what comes back: the passage itself, late by the way's length, which must not show.
        await page.SelectOptionAsync("[data-wish=over]", "rebuild");
        await page.SelectOptionAsync("[data-wish=share]", "1");
        await page.FillAsync("[data-wish=first]", "1");
        await page.FillAsync("[data-wish=last]", "2");
        await page.FillAsync("[data-wish=rounds]", "2");
        KeptTake take = await FakeInputs.RecordAsync(bench, page, study, 30_000);
        Assert.Equal(FakeInputs.LoopMs, take.DelayMs!.Value, 1.0);
        Assert.True(take.Found > 0.93, $"Only {take.Found:0.00} of the strokes were found.");
        double own = bench.Whole.Performance.PlacedHits().Where(placed => placed.Position.Bar <= 2).Average(placed => placed.Deviation.Milliseconds);
        string against = await page.Locator("[data-take] p", new PageLocatorOptions { HasText = "Against what it was played to" }).InnerTextAsync();
        Assert.Equal(own, Number(against.Split("lies ")[1].Split(" ms")[0]), 2.0);
        await Assertions.Expect(page.Locator("[data-over-passage] svg")).ToBeVisibleAsync();
        await Assertions.Expect(page.Locator("[data-take-list] tbody tr")).ToHaveCountAsync(1);
        Assert.True(File.Exists(take.Source));
        bench.Library.Delete(study.Id);
        window.AssertQuiet(bench);
    }

    /// <summary>
    /// Through the browser's own capture, whose way is unknown: a burst of noise ahead of the clicks in what the microphone hears is
    /// found in the samples that the page sent, by the test's own correlation, and says how late the clicks truly came.
    /// </summary>
    [SkippableFact]
    public async Task The_delay_of_the_browser_s_own_capture_is_measured_within_a_millisecond()
    {
        const int rate = 48000;
        const double silence = 1.9, ahead = 0.3;
        StereoSound clicks = CalibrationClicks.Make(rate);
        float[] heard = new float[(int)((silence + CalibrationClicks.Length.Value + 4) * rate)];
        clicks.Left.CopyTo(heard, (int)(silence * rate));
        var random = new Random(11);
        float[] burst = [.. Enumerable.Range(0, 2400).Select(_ => (float)(0.5 * ((2 * random.NextDouble()) - 1)))];
        int burstAt = (int)((silence + CalibrationClicks.Lead - ahead) * rate);
        burst.CopyTo(heard, burstAt);
        await WriteMicrophoneAsync(heard, rate);
        await using Window window = await bench.OpenStudyAsync();
        IPage page = window.Page;
        IRequest sent = await page.RunAndWaitForRequestAsync(() => page.ClickAsync("[data-measure]"), request => request.Url.Contains("/practice/delay", StringComparison.Ordinal), new PageRunAndWaitForRequestOptions { Timeout = 60_000 });
        await Assertions.Expect(page.Locator("[data-takes] [data-said]")).ToContainTextAsync("Measured.", new LocatorAssertionsToContainTextOptions { Timeout = 30_000 });
        double measured = double.Parse((await page.Locator("[data-delay]").InnerTextAsync()).Split(": ")[1].Split(" ±")[0], CultureInfo.InvariantCulture);
        int own = int.Parse(sent.Url.Split("rate=")[1], CultureInfo.InvariantCulture);
        float[] samples = MemoryMarshal.Cast<byte, float>(sent.PostDataBuffer).ToArray();
        float[] sought = own == rate ? burst : Resampler.Resample(burst, rate, own);
        double best = 0;
        int at = 0;
        for (int i = 0; i + sought.Length < Math.Min(samples.Length, 4 * own); i++)
        {
            double dot = Math.Abs(System.Numerics.Tensors.TensorPrimitives.Dot<float>(samples.AsSpan(i, sought.Length), sought));
            if (dot > best)
                (best, at) = (dot, i);
        }

        Assert.True(best > 1, "The microphone was not heard.");
        double known = 1000 * (((double)at / own) + ahead - CalibrationClicks.Lead);
        Assert.Equal(known, measured, 1.0);
        window.AssertQuiet(bench);
    }

    /// <summary>A drummer whose kick comes 15 ms later than the passage's, through the browser's microphone, without anything to play to.</summary>
    [SkippableFact]
    public async Task A_take_by_microphone_is_captured_aligned_and_compared()
    {
        Study study = bench.Fresh();
        PlannedStroke[] strokes = [.. RebuildPlan.Make(study.Performance, study.Feel, Dials.AsPlayed)
            .Select(stroke => stroke.Piece == KitPiece.Kick ? stroke with { Time = stroke.Time + Seconds.FromMilliseconds(15) } : stroke)];
        double round = (study.Performance.Pulse.TimeAt(new BarPosition(9, 1, Fraction.Zero)) - study.Performance.Pulse.TimeAt(new BarPosition(1, 1, Fraction.Zero))).Value;
        PlannedStroke[] twice = [.. strokes, .. strokes.Select(stroke => stroke with { Time = stroke.Time + Seconds.Of(round) })];
        StereoSound sound = Renderer.Render(twice, HouseKit.Load(), 48000);
        await WriteMicrophoneAsync(sound.Left, 48000);
        await using Window window = await bench.OpenStudyAsync(study);
        IPage page = window.Page;
        await page.SelectOptionAsync("[data-wish=over]", "nothing");
        await page.SelectOptionAsync("[data-wish=share]", "1");
        await page.FillAsync("[data-wish=rounds]", "1");
        KeptTake take = await FakeInputs.RecordAsync(bench, page, study, 60_000);
        Assert.True(take.Found > 0.85, $"Only {take.Found:0.00} of the strokes were found.");
        Assert.Equal(92, take.Bpm, 1.0);
        Assert.Null(take.DelayMs);
        KeptDifference kick = take.Figures.Single(figure => figure.Figure == Feel.FeelFigures.LayBack.Id && figure.Subject == "kick");
        Assert.InRange(15, kick.Difference.Low - 2, kick.Difference.High + 2);
        Assert.InRange(kick.Difference.Value, 9, 21);
        bench.Library.Delete(study.Id);
        window.AssertQuiet(bench);
    }

    /// <summary>Recorded elsewhere: the MIDI of an electronic kit, 8 % slower, and what is no take at all.</summary>
    [SkippableFact]
    public async Task A_take_from_a_file_is_compared_and_a_session_planned()
    {
        Study study = bench.Fresh();
        using var midi = new MemoryStream();
        Performance passage = study.Performance;
        Charting.ChartMidi.WriteAsPlayed(new Performance(
            new Pulse(passage.Meter, [.. passage.Pulse.Beats.Select(beat => beat with { Time = AudioTime.FromSeconds(1.08 * beat.Time.TotalSeconds) })]),
            passage.Hits.Select(hit => hit with { Time = AudioTime.FromSeconds(1.08 * hit.Time.TotalSeconds) })), midi);
        await using Window window = await bench.OpenStudyAsync(study);
        IPage page = window.Page;
        await page.SetInputFilesAsync("[data-take-file]", new FilePayload { Name = "at home.mid", MimeType = "audio/midi", Buffer = midi.ToArray() });
        await Assertions.Expect(page.Locator("[data-takes] [data-said]")).ToHaveTextAsync("Kept.", new LocatorAssertionsToHaveTextOptions { Timeout = 30_000 });
        KeptTake take = Assert.Single(new TakeShelf(bench.Library).Of(study.Id));
        Assert.Equal("at home", take.Name);
        Assert.Equal(92 / 1.08, take.Bpm, 0.5);
        Assert.True(take.Found > 0.97);
        await Assertions.Expect(page.Locator("[data-take] h3")).ToHaveTextAsync("at home");
        await page.GetByText("Plan a session").ClickAsync();
        await page.SelectOptionAsync("[data-minutes]", "45");
        await Assertions.Expect(page.Locator("[data-plan] li").First).ToContainTextAsync("Warm-up");
        IReadOnlyList<PracticePart> plan = PracticePlan.Make(45, passage.Pulse.MeanTempo, [take.Mark], []);
        await Assertions.Expect(page.Locator("[data-plan] li")).ToHaveCountAsync(plan.Count);
        window.AssertQuiet(bench);
        await page.SetInputFilesAsync("[data-take-file]", new FilePayload { Name = "letter.txt", MimeType = "text/plain", Buffer = "Dear teacher"u8.ToArray() });
        await Assertions.Expect(page.Locator("[data-takes] [data-said]")).Not.ToContainTextAsync("Listening", new LocatorAssertionsToContainTextOptions { Timeout = 20_000 });
        Assert.DoesNotContain(bench.Folder, await page.Locator("[data-takes] [data-said]").InnerTextAsync(), StringComparison.Ordinal);
        Assert.Single(new TakeShelf(bench.Library).Of(study.Id));
        bench.Library.Delete(study.Id);
    }

    [SkippableFact]
    public async Task A_file_chosen_before_the_page_listens_is_not_lost()
    {
        Study study = bench.Fresh();
        using var midi = new MemoryStream();
        Charting.ChartMidi.WriteAsPlayed(study.Performance, midi);
        await using Window window = await bench.OpenAsync("");
        IPage page = window.Page;
        var chosen = new TaskCompletionSource();
        await page.RouteAsync("**/takes.js*", async route =>
        {
            await chosen.Task;
            await route.ContinueAsync();
        });
        await page.GotoAsync(new Uri(bench.Address, $"study/{study.Id}").AbsoluteUri);
        await page.Locator("article[data-live] [data-takes]").WaitForAsync();
        await page.SetInputFilesAsync("[data-take-file]", new FilePayload { Name = "early.mid", MimeType = "audio/midi", Buffer = midi.ToArray() });
        chosen.SetResult();
        await Assertions.Expect(page.Locator("[data-takes] [data-said]")).ToHaveTextAsync("Kept.", new LocatorAssertionsToHaveTextOptions { Timeout = 30_000 });
        Assert.Equal("early", Assert.Single(new TakeShelf(bench.Library).Of(study.Id)).Name);
        bench.Library.Delete(study.Id);
        window.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task Cautions_are_shown_and_a_stopped_take_without_strokes_is_not_kept()
    {
        Study study = bench.Fresh();
        await WriteMicrophoneAsync([0f, 0f]);
        await using Window window = await bench.OpenStudyAsync(study);
        IPage page = window.Page;
        await Assertions.Expect(page.Locator(".care")).ToContainTextAsync(PracticeCare.Repetition);
        await Assertions.Expect(page.Locator(".care")).ToContainTextAsync(PracticeCare.Strain);
        await page.ClickAsync("[data-record]");
        await Assertions.Expect(page.Locator("[data-takes] [data-said]")).ToContainTextAsync("Round 1", new LocatorAssertionsToContainTextOptions { Timeout = 20_000 });
        await page.ClickAsync("[data-stop]");
        await Assertions.Expect(page.Locator("[data-record]")).ToBeVisibleAsync(new LocatorAssertionsToBeVisibleOptions { Timeout = 20_000 });
        // What was played until then would be kept; silence is no take, and that is said.
        await Assertions.Expect(page.Locator("[data-takes] [data-said]")).ToContainTextAsync("stroke");
        Assert.Empty(new TakeShelf(bench.Library).Of(study.Id));
        Assert.Empty(bench.Problems);
        bench.Library.Delete(study.Id);
    }

    private Task WriteMicrophoneAsync(float[] samples, int rate = 48000)
    {
        WavFile.Write(bench.Microphone, new StereoSound(samples.Length < rate ? [.. samples, .. new float[rate]] : samples, samples.Length < rate ? [.. samples, .. new float[rate]] : samples, rate), bits: 16);
        return Task.CompletedTask;
    }

    private static double Number(string text) => double.Parse(text.Replace('\u2212', '-'), CultureInfo.InvariantCulture);
}
