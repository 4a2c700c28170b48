using Hindbeat.Performances;
using Hindbeat.Studies;
using Hindbeat.Units;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>Where loops begin and end: at bars, beats or parts of a beat, ahead of the strokes that are written there.</summary>
[Collection(OneBrowser.Name)]
public class LoopTests(BenchInABrowser bench)
{
    /// <summary>Where a loop may begin and end is said by the teacher: a bar, a beat, or a part of one.</summary>
    [SkippableTheory]
    [InlineData("1", 1.0, "beat 4")]
    [InlineData("2", 0.5, "beat 3½")]
    [InlineData("3", 1 / 3.0, "beat 3⅓")]
    [InlineData("4", 0.25, "beat 3¼")]
    public async Task A_loop_by_beats_or_parts_of_a_beat_sounds_for_exactly_so_long(string by, double beats, string end)
    {
        (Window window, Ear ear) = await Ear.OpenAsync(bench, bench.Whole);
        await using Window open = window;
        IPage page = window.Page;
        await page.SelectOptionAsync("[data-loop-by]", by);
        await page.EvaluateAsync("() => document.activeElement.blur()");
        Pulse pulse = bench.Whole.Performance.Pulse;
        AudioTime start = pulse.TimeAt(new BarPosition(2, 3, Fraction.Zero)), stop = pulse.TimeAt(pulse.BeatsAt(start) + beats);
        // A quarter of a stretch behind its line: what is meant is the stretch that this lies in.
        (float x, float y) = await window.OnTimelineAsync(bench.Whole, (start + ((stop - start) * 0.25)).TotalSeconds, 60);
        await page.Mouse.ClickAsync(x, y);
        await page.Keyboard.PressAsync("l");
        await Assertions.Expect(page.Locator("[data-loop-said]")).ToHaveTextAsync($"Looping from bar 2, beat 3 to {end}.");
        await page.Keyboard.PressAsync("Space");
        await page.WaitForTimeoutAsync(300);
        await ear.BeginAsync();
        await page.WaitForTimeoutAsync(2500);
        Heard heard = await ear.TakeAsync();
        (double period, double residual) = heard.BestPeriod((stop - start).Value);
        Assert.Equal((stop - start).Value, period, 0.002);
        Assert.True(residual < -40, $"Passes differ by {residual:0.0} dB of their own level.");
        window.AssertQuiet(bench);
    }

    /// <summary>Drawn along the bar numbers from inside one beat to inside another; then longer and shorter by one unit, and never to nothing.</summary>
    [SkippableFact]
    public async Task A_loop_is_drawn_and_changed_by_the_unit_that_was_chosen()
    {
        await using Window window = await bench.OpenStudyAsync();
        IPage page = window.Page;
        await page.SelectOptionAsync("[data-loop-by]", "1");
        Pulse pulse = bench.Whole.Performance.Pulse;
        double At(int bar, int beat, double within) => pulse.TimeAt(pulse.BeatsAt(pulse.TimeAt(new BarPosition(bar, beat, Fraction.Zero))) + within).TotalSeconds;
        (float x, float y) = await window.OnTimelineAsync(bench.Whole, At(2, 3, 0.4), 13);
        (float toX, _) = await window.OnTimelineAsync(bench.Whole, At(3, 1, 0.4), 13);
        await page.Mouse.MoveAsync(x, y);
        await page.Mouse.DownAsync();
        await page.Mouse.MoveAsync((x + toX) / 2, y);
        await page.Mouse.MoveAsync(toX, y);
        await page.Mouse.UpAsync();
        ILocator said = page.Locator("[data-loop-said]");
        await Assertions.Expect(said).ToHaveTextAsync("Looping from bar 2, beat 3 to bar 3, beat 2.");
        await page.GetByText("Longer", new PageGetByTextOptions { Exact = true }).ClickAsync();
        await Assertions.Expect(said).ToHaveTextAsync("Looping from bar 2, beat 3 to bar 3, beat 3.");
        await page.SelectOptionAsync("[data-loop-by]", "2");
        ILocator shorter = page.GetByText("Shorter", new PageGetByTextOptions { Exact = true });
        await shorter.ClickAsync();
        await Assertions.Expect(said).ToHaveTextAsync("Looping from bar 2, beat 3 to bar 3, beat 2½.");
        for (int i = 0; i < 9; i++)
            await shorter.ClickAsync();
        await Assertions.Expect(said).ToHaveTextAsync("Looping from bar 2, beat 3 to beat 3½.");
        // One steps by the same unit, and the buttons say so.
        await page.GetByLabel("One half beat on").ClickAsync();
        await page.EvaluateAsync("() => document.activeElement.blur()");
        await page.Keyboard.PressAsync("g");
        await Assertions.Expect(page.GetByLabel("One third of a beat on")).ToBeVisibleAsync();
        window.AssertQuiet(bench);
    }

    /// <summary>Strokes written on the loop's first line that come early are in it: the loop begins before the earliest of them.</summary>
    [SkippableFact]
    public async Task A_loop_begins_before_the_early_strokes_of_its_first_line()
    {
        Study study = bench.Fresh();
        double line = study.Performance.Pulse.TimeAt(new BarPosition(3, 1, Fraction.Zero)).TotalSeconds;
        Hit[] hits = [.. study.Performance.Hits.Select(hit => hit.Position == new BarPosition(3, 1, Fraction.Zero) ? hit with { Time = AudioTime.FromSeconds(line - 0.02) } : hit)];
        bench.Library.Save(study with { Performance = new Performance(study.Performance.Pulse, hits) });
        await using Window window = await bench.OpenStudyAsync(study);
        IPage page = window.Page;
        (float x, float y) = await window.OnTimelineAsync(study, line + 0.4, 60);
        await page.Mouse.ClickAsync(x, y);
        await page.ClickAsync("[data-loop]");
        await Assertions.Expect(page.Locator("[data-loop-said]")).ToHaveTextAsync("Looping bar 3.");
        await page.ClickAsync("[data-play]");
        // Bar 3 alone, yet the playhead is now and then before its line.
        await page.WaitForFunctionAsync("() => document.querySelector('[data-where]').textContent === 'bar 2, beat 4'", null, new PageWaitForFunctionOptions { Timeout = 20_000, PollingInterval = 2 });
        await Assertions.Expect(page.Locator("[data-loop-said]")).ToHaveTextAsync("Looping bar 3.");
        bench.Library.Delete(study.Id);
        window.AssertQuiet(bench);
    }
}
