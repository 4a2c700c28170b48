using System.Globalization;
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
        FakeInputs.Microphone(bench, [], 48000);
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
        FakeInputs.Microphone(bench, sound.Left, 48000);
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
        FakeInputs.Microphone(bench, [], 48000);
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

    private static double Number(string text) => double.Parse(text.Replace('\u2212', '-'), CultureInfo.InvariantCulture);
}
