using Hindbeat.Performances;
using Hindbeat.Sound;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>What reaches the loudspeaker, recorded out of the audio graph: levels, seams, hand-overs, ticks, and the playhead against it.</summary>
[Collection(OneBrowser.Name)]
public class TransportTests(BenchInABrowser bench)
{
    [SkippableTheory]
    [InlineData("original")]
    [InlineData("as-written")]
    [InlineData("swing-only")]
    [InlineData("as-played")]
    public async Task Playing_sounds_moderately_and_moves_one_playhead_everywhere(string version)
    {
        (Window window, Ear ear) = await Ear.OpenAsync(bench, bench.Whole);
        await using Window open = window;
        IPage page = window.Page;
        await page.CheckAsync($"input[name=version][value={version}]");
        await ear.BeginAsync();
        await page.ClickAsync("[data-play]");
        await page.WaitForFunctionAsync("() => document.querySelector('[data-play]').textContent === 'Stop'");
        await page.WaitForTimeoutAsync(500);
        string[] heads = ["[data-axis] [data-playhead]", "[data-folded] [data-playhead]", "[data-chart] [data-playhead]"];
        double[] before = await Task.WhenAll(heads.Select(head => LeftOf(page, head)));
        await page.WaitForTimeoutAsync(400);
        double[] after = await Task.WhenAll(heads.Select(head => LeftOf(page, head)));
        Heard heard = await ear.TakeAsync();
        Assert.All(before.Zip(after), pair => Assert.True(pair.Second != pair.First, "A playhead stands still."));
        Assert.True(after[0] > before[0] + 2, "The playhead on the time axis stands still.");
        // −12 dB is where the volume begins: 10^(−12/20) = 0.2512 of full scale at most.
        Assert.InRange(heard.Loudest, 0.003, 0.2512);
        await page.ClickAsync("[data-play]");
        await Assertions.Expect(page.Locator("[data-play]")).ToHaveTextAsync("Play");
        await page.WaitForTimeoutAsync(100);
        await ear.BeginAsync();
        await page.WaitForTimeoutAsync(200);
        Assert.Equal(0, (await ear.TakeAsync()).Loudest);
        window.AssertQuiet(bench);
    }

    /// <summary>
    /// The playhead must say what is heard: the sound that came at one second of the audio clock is the recording's at the playhead's place,
    /// measured by sliding one along the other. Positive would be a playhead that runs behind the sound.
    /// </summary>
    [SkippableFact]
    public async Task The_playhead_stands_where_the_sound_is_and_stays_there_over_many_loops()
    {
        (Window window, Ear ear) = await Ear.OpenAsync(bench, bench.Whole);
        await using Window open = window;
        IPage page = window.Page;
        await page.Keyboard.PressAsync("Shift+ArrowRight");
        await page.Keyboard.PressAsync("l");
        await ear.BeginAsync();
        await page.Keyboard.PressAsync("Space");
        await page.WaitForTimeoutAsync(13000);
        double lag = await PlayheadLag.MeasureAsync(page, ear, bench.Whole, Recording());
        // A frame of 60 a second is 16.7 ms old at most when it is read.
        Assert.InRange(lag, -10, 27);
        window.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task A_loop_repeats_to_the_sample_without_a_click_or_a_hole()
    {
        (Window window, Ear ear) = await Ear.OpenAsync(bench, bench.Whole);
        await using Window open = window;
        IPage page = window.Page;
        await page.Keyboard.PressAsync("Shift+ArrowRight");
        await page.Keyboard.PressAsync("l");
        await Assertions.Expect(page.Locator("[data-loop-said]")).ToContainTextAsync("Looping bar");
        await page.Keyboard.PressAsync("Space");
        // A busy page begins late, and the fade that a start in the middle has is no part of a pass.
        await Assertions.Expect(page.Locator("[data-play]")).ToHaveTextAsync("Stop");
        await page.WaitForTimeoutAsync(300);
        await ear.BeginAsync();
        Pulse pulse = bench.Whole.Performance.Pulse;
        double bar = (pulse.Beats.First(beat => beat is { Bar: 3, Number: 1 }).Time - pulse.Beats.First(beat => beat is { Bar: 2, Number: 1 }).Time).Value;
        await page.WaitForTimeoutAsync((float)(1000 * 3.2 * bar));
        Heard heard = await ear.TakeAsync();
        // Passes must be the same sound: the period that fits best is a bar's, and what differs at it is next to nothing.
        (double period, double residual) = heard.BestPeriod(bar);
        Assert.Equal(bar, period, 0.08);
        Assert.True(residual < -40, $"Passes differ by {residual:0.0} dB of their own level.");
        // A click would be a step of the sample that the sound itself nowhere makes; both passes hold the seam once.
        Assert.True(heard.Loudest < 0.2512);
        window.AssertQuiet(bench);
    }

    /// <summary>"By the dials" at 100 % is the same sound as "as played": handing one over to the other while it sounds must not be heard at all.</summary>
    [SkippableFact]
    public async Task Handing_over_while_playing_keeps_the_time_and_leaves_no_gap()
    {
        (Window window, Ear ear) = await Ear.OpenAsync(bench, bench.Whole);
        await using Window open = window;
        IPage page = window.Page;
        await page.CheckAsync("input[name=version][value=own]");
        await page.CheckAsync("input[name=version][value=as-played]");
        await page.EvaluateAsync("() => document.activeElement.blur()");
        await ear.BeginAsync();
        await page.Keyboard.PressAsync("Space");
        await page.WaitForFunctionAsync("() => document.querySelector('[data-play]').textContent === 'Stop'");
        await page.WaitForTimeoutAsync(5000);
        Heard without = await ear.TakeAsync();
        await page.Keyboard.PressAsync("Space");
        await page.Keyboard.PressAsync("Home");
        await page.WaitForTimeoutAsync(100);
        await ear.BeginAsync();
        await page.Keyboard.PressAsync("Space");
        for (int i = 0; i < 6; i++)
        {
            await page.WaitForTimeoutAsync(600);
            await page.CheckAsync($"input[name=version][value={(i % 2 == 0 ? "own" : "as-played")}]");
        }

        await page.WaitForTimeoutAsync(800);
        Heard with = await ear.TakeAsync();
        double residual = Difference(without, with, 4.0);
        Assert.True(residual < -30, $"Six hand-overs of the same sound left {residual:0.0} dB of it changed.");
        window.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task Versions_are_equally_loud()
    {
        (Window window, Ear ear) = await Ear.OpenAsync(bench, bench.Whole);
        await using Window open = window;
        IPage page = window.Page;
        var levels = new Dictionary<string, double>();
        foreach (string version in new[] { "as-written", "exaggerated", "original" })
        {
            await page.CheckAsync($"input[name=version][value={version}]");
            await page.EvaluateAsync("() => document.activeElement.blur()");
            await page.Keyboard.PressAsync("Home");
            await page.Keyboard.PressAsync("Space");
            await page.WaitForFunctionAsync("() => document.querySelector('[data-play]').textContent === 'Stop'");
            await page.WaitForTimeoutAsync(200);
            await ear.BeginAsync();
            await page.WaitForTimeoutAsync(6000);
            Heard heard = await ear.TakeAsync();
            levels[version] = heard.Decibels(0.05, 5.5);
            await page.Keyboard.PressAsync("Space");
        }

        // Two bars and a bit of eight, unweighted, so not to the tenth that BS.1770 over the whole would give.
        Assert.True(levels.Values.Max() - levels.Values.Min() < 1.5, string.Join(", ", levels.Select(level => $"{level.Key} {level.Value:0.0} dB")));
        window.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task A_tick_falls_on_each_stroke_of_a_piece_over_the_recording()
    {
        (Window window, Ear ear) = await Ear.OpenAsync(bench, bench.Whole);
        await using Window open = window;
        IPage page = window.Page;
        Heard[] takes = new Heard[2];
        for (int i = 0; i < 2; i++)
        {
            await page.SelectOptionAsync("[data-tick]", i == 0 ? "" : "snare");
            await page.EvaluateAsync("() => document.activeElement.blur()");
            await page.Keyboard.PressAsync("Home");
            await page.WaitForTimeoutAsync(100);
            await ear.BeginAsync();
            await page.Keyboard.PressAsync("Space");
            await page.WaitForTimeoutAsync(5200);
            takes[i] = await ear.TakeAsync();
            await page.Keyboard.PressAsync("Space");
            await page.WaitForTimeoutAsync(100);
        }

        Assert.All(takes, take => Assert.True(take is { Seconds: > 5, Loudest: > 0.003f }, $"{take.Seconds:0.0} s were heard, at most {take.Loudest:0.0000} loud."));
        // What the second take has and the first has not are the ticks.
        double[] starts = [.. takes.Select(take => take.FirstAbove(1e-3))];
        double rate = takes[0].Rate;
        Hit[] snares = [.. bench.Whole.Performance.Hits.Where(hit => hit.Piece == KitPiece.Snare && hit.Time.TotalSeconds is > 0.2 and < 4.5)];
        Assert.NotEmpty(snares);
        double first = FirstSound();
        double[] ticked = [.. Enumerable.Range(0, (int)(4.6 * rate)).Select(i =>
            (double)takes[1].Samples[(int)(starts[1] * rate) + i] - takes[0].Samples[(int)(starts[0] * rate) + i])];
        foreach (Hit snare in snares)
        {
            int at = (int)((snare.Time.TotalSeconds - first) * rate);
            double on = Power(ticked, at, (int)(0.006 * rate)), off = Power(ticked, at - (int)(0.03 * rate), (int)(0.02 * rate));
            Assert.True(on > 20 * Math.Max(off, 1e-9), $"No tick on the snare at {snare.Time.TotalSeconds:0.000} s ({on} against {off}).");
        }

        window.AssertQuiet(bench);

        double FirstSound()
        {
            float[] samples = Recording();
            double level = 1e-3 / Math.Max(1e-9, takes[0].Loudest) * samples.Max(Math.Abs);
            return (double)Array.FindIndex(samples, sample => Math.Abs(sample) > level) / MonoSound.AnalysisRate;
        }
    }

    [SkippableFact]
    public async Task The_keyboard_alone_plays_stops_loops_and_reads_strokes()
    {
        await using Window window = await bench.OpenStudyAsync();
        IPage page = window.Page;
        await page.Keyboard.PressAsync("Space");
        await Assertions.Expect(page.Locator("[data-play]")).ToHaveTextAsync("Stop");
        await page.Keyboard.PressAsync("Space");
        await Assertions.Expect(page.Locator("[data-play]")).ToHaveTextAsync("Play");
        await page.Keyboard.PressAsync("Home");
        await page.Keyboard.PressAsync("ArrowRight");
        Hit first = bench.Whole.Performance.Hits[0];
        await Assertions.Expect(page.Locator("[data-readout]")).ToContainTextAsync(first.Piece.Name());
        await Assertions.Expect(page.Locator(".folded .pointed")).ToHaveAttributeAsync("data-hit", "0");
        await page.Keyboard.PressAsync("Shift+ArrowRight");
        await Assertions.Expect(page.Locator("[data-where]")).ToContainTextAsync("beat 1");
        await page.Keyboard.PressAsync("l");
        await Assertions.Expect(page.Locator("[data-loop]")).ToHaveAttributeAsync("aria-pressed", "true");
        // Single letters can be turned off (WCAG 2.2, success criterion 2.1.4).
        await page.Locator(".keys summary").ClickAsync();
        await page.UncheckAsync("[data-letters]");
        await page.EvaluateAsync("() => document.activeElement.blur()");
        await page.Keyboard.PressAsync("l");
        await Assertions.Expect(page.Locator("[data-loop]")).ToHaveAttributeAsync("aria-pressed", "true");
        await page.Keyboard.PressAsync("Space");
        await Assertions.Expect(page.Locator("[data-play]")).ToHaveTextAsync("Stop");
        window.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task The_hearing_caution_is_shown_once()
    {
        await using Window window = await bench.OpenStudyAsync();
        ILocator caution = window.Page.Locator("[data-caution]");
        await Assertions.Expect(caution).ToBeVisibleAsync();
        await window.Page.ClickAsync("[data-understood]");
        await Assertions.Expect(caution).ToBeHiddenAsync();
        await window.Page.ReloadAsync();
        await window.WaitUntilLiveAsync();
        await Assertions.Expect(caution).ToBeHiddenAsync();
    }

    private float[] Recording()
    {
        using LoadedSound recording = SoundLoader.Load(bench.Whole.Source!);
        float[] samples = new float[recording.Analysis.Length];
        recording.Analysis.Read(0, samples);
        return samples;
    }

    private static double Power(double[] samples, int from, int count) => samples.Skip(Math.Max(0, from)).Take(count).Sum(sample => sample * sample) / count;

    /// <summary>What one take has other than another when both are laid on their first sound, dB.</summary>
    private static double Difference(Heard a, Heard b, double seconds)
    {
        int from = (int)(a.FirstAbove(1e-4) * a.Rate), to = (int)(b.FirstAbove(1e-4) * b.Rate), count = (int)(seconds * a.Rate);
        double best = double.MaxValue, energy = 0;
        for (int i = 0; i < count; i++)
            energy += a.Samples[from + i] * (double)a.Samples[from + i];
        for (int shift = -3; shift <= 3; shift++)
        {
            double sum = 0;
            for (int i = 4; i < count; i++)
            {
                double difference = a.Samples[from + i] - b.Samples[to + i + shift];
                sum += difference * difference;
            }

            best = Math.Min(best, sum);
        }

        return 10 * Math.Log10(Math.Max(1e-12, best / energy));
    }

    private static Task<double> LeftOf(IPage page, string selector) =>
        page.EvaluateAsync<double>("selector => document.querySelector(selector).getBoundingClientRect().left", selector);
}
