using Hindbeat.Bench.Desk;
using Hindbeat.Rebuilding;
using Hindbeat.Studies;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>The dials beside the chart, and the test of one's own ears.</summary>
[Collection(OneBrowser.Name)]
public class RebuildTests(BenchInABrowser bench)
{
    [SkippableFact]
    public async Task Turning_a_dial_while_playing_changes_what_is_heard_in_place()
    {
        (Window window, Ear ear) = await Ear.OpenAsync(bench, bench.Whole);
        await using Window open = window;
        IPage page = window.Page;
        await page.CheckAsync("input[name=version][value=as-played]");
        await page.EvaluateAsync("() => document.activeElement.blur()");
        await page.Keyboard.PressAsync("Space");
        await Assertions.Expect(page.Locator("[data-play]")).ToHaveTextAsync("Stop");
        await page.WaitForTimeoutAsync(800);
        await ear.BeginAsync();
        double before = await AxisAsync(page);
        await page.EvaluateAsync("""
            () => {
              const dial = document.querySelector("[data-dial=swing]");
              dial.value = 0;
              dial.dispatchEvent(new Event("input", { bubbles: true }));
            }
            """);
        await Assertions.Expect(page.Locator("input[name=version][value=own]")).ToBeCheckedAsync();
        await Assertions.Expect(page.Locator("[data-dial-says=swing]")).ToHaveTextAsync("0\u00A0%");
        await page.WaitForTimeoutAsync(1500);
        Heard heard = await ear.TakeAsync();
        Assert.True(await AxisAsync(page) > before, "The place was lost.");
        // Hats at 92 bpm fall every 326 ms at the most; a longer silence would be a gap.
        Assert.True(heard.LongestHole(2e-4) < 0.33, $"A hole of {1000 * heard.LongestHole(2e-4):0} ms.");
        window.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task Ready_versions_set_the_dials_and_slowing_keeps_the_recording()
    {
        await using Window window = await bench.OpenStudyAsync();
        IPage page = window.Page;
        await page.CheckAsync("input[name=version][value=exaggerated]");
        await Assertions.Expect(page.Locator("[data-dial-says=layback]")).ToHaveTextAsync($"{100 * Dials.Exaggerated.LayBack:0}\u00A0%");
        await page.CheckAsync("input[name=version][value=as-written]");
        await Assertions.Expect(page.Locator("[data-dial-says=swing]")).ToHaveTextAsync("0\u00A0%");
        await page.SelectOptionAsync("[data-slow]", "60");
        await Assertions.Expect(page.Locator("input[name=version][value=original]")).ToBeCheckedAsync();
        await page.ClickAsync("[data-play]");
        await Assertions.Expect(page.Locator("[data-play]")).ToHaveTextAsync("Stop", new LocatorAssertionsToHaveTextOptions { Timeout = 20_000 });
        double before = await AxisAsync(page);
        await page.WaitForTimeoutAsync(1000);
        double share = (await AxisAsync(page) - before) / await page.EvaluateAsync<double>("() => document.querySelector('[data-timeline]').clientWidth");
        // At 60 % a second of listening is 0.6 s of the recording; frames and round trips blur it.
        Assert.InRange(share * (bench.Whole.To - bench.Whole.From).Value, 0.45, 0.85);
        window.AssertQuiet(bench);
    }

    /// <summary>Neither page nor addresses may tell which is which; the two sounds must differ; the score must be kept.</summary>
    [SkippableFact]
    public async Task The_blind_test_is_blind_and_keeps_the_score()
    {
        Study study = bench.Fresh();
        await using Window window = await bench.OpenStudyAsync(study);
        IPage page = window.Page;
        await page.ClickAsync("[data-question=lay-back]");
        foreach (string which in new[] { "a", "b" })
        {
            await page.ClickAsync($"[data-blind={which}]");
            await Assertions.Expect(page.Locator("[data-play]")).ToHaveTextAsync("Stop");
            await page.WaitForTimeoutAsync(300);
        }

        string[] asked = [.. window.Requests.Where(address => address.Contains("/blind/", StringComparison.Ordinal))];
        Assert.Equal(2, asked.Distinct().Count());
        Assert.All(asked, address => Assert.DoesNotContain("=", address, StringComparison.Ordinal));
        await page.ClickAsync("[data-answer=a]");
        string verdict = await page.Locator("[data-verdict]").InnerTextAsync();
        (int right, int count) = bench.Library.Answers(study.Id)["lay-back"];
        Assert.Equal((verdict.StartsWith("Right", StringComparison.Ordinal) ? 1 : 0, 1), (right, count));
        await Assertions.Expect(page.Locator("[data-question=lay-back]")).ToContainTextAsync($"{right} of 1 right");

        // Always pointing at the first is right about as often as not: the order is drawn. 2^−14 of runs would fail by chance.
        var tests = new BlindTests();
        bool[] first = [.. Enumerable.Range(0, 16).Select(_ => tests.Answer(tests.Begin(study.Id, EarQuestion.All[0]), "a")!.Value)];
        Assert.Contains(true, first);
        Assert.Contains(false, first);
        Assert.Null(tests.Answer("guessed", "a"));
        await page.ReloadAsync();
        await window.WaitUntilLiveAsync();
        await Assertions.Expect(page.Locator("[data-question=lay-back]")).ToContainTextAsync("of 1 right");
        bench.Library.Delete(study.Id);
        window.AssertQuiet(bench);
    }

    [Fact]
    public void Which_is_which_is_the_engine_s_own_difference_and_a_ticket_answers_once()
    {
        var tests = new BlindTests();
        EarQuestion question = EarQuestion.All.Single(each => each.Id == "lay-back");
        string ticket = tests.Begin(bench.Whole.Id, question);
        Dials a = tests.DialsOf(bench.Whole.Id, ticket, "a")!, b = tests.DialsOf(bench.Whole.Id, ticket, "b")!;
        Assert.Equal(new[] { question.With, question.Without }.ToHashSet(), new[] { a, b }.ToHashSet());
        Assert.Null(tests.DialsOf("another-study", ticket, "a"));
        Assert.Equal(ReferenceEquals(a, question.With), tests.Answer(ticket, "a"));
        Assert.Null(tests.Answer(ticket, "b"));
        // The kick lies 18 ms behind in the invented passage.
        Assert.InRange(question.MovesMs(bench.Whole), 15, 21);
    }

    private static Task<double> AxisAsync(IPage page) =>
        page.EvaluateAsync<double>("() => document.querySelector('[data-axis] [data-playhead]').getBoundingClientRect().left");
}
