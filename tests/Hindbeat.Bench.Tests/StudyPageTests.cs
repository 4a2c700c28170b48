using System.Globalization;
using System.Text.Json;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Studies;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>What a drummer sees and hears of one study.</summary>
[Collection(OneBrowser.Name)]
public class StudyPageTests(BenchInABrowser bench)
{
    /// <summary>Listens in on whatever reaches the loudspeaker, without changing it.</summary>
    private const string Eavesdrop = """
        (() => {
          const connect = AudioNode.prototype.connect;
          AudioNode.prototype.connect = function (to, ...rest) {
            if (to instanceof AudioDestinationNode) {
              const ear = new AnalyserNode(this.context, { fftSize: 32768 });
              connect.call(this, ear);
              const samples = new Float32Array(ear.fftSize);
              window.loudestHeard = () => {
                ear.getFloatTimeDomainData(samples);
                return samples.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);
              };
            }
            return connect.call(this, to, ...rest);
          };
        })();
        """;

    private static readonly string[] AllStrokes = ["[data-chart] [data-hit]", "svg.rows .stroke", ".folded .stroke"];

    [SkippableFact]
    public async Task The_library_lists_each_study_with_tempo_meter_swing_and_lay_back()
    {
        await using Window window = await bench.OpenAsync("");
        ILocator rows = window.Page.Locator(".contents tbody tr");
        Assert.Equal(bench.Studies.Count, await rows.CountAsync());
        foreach (StudySummary study in bench.Studies)
        {
            string text = await rows.Filter(new LocatorFilterOptions { HasText = study.Name }).InnerTextAsync();
            Assert.Contains(study.Meter, text, StringComparison.Ordinal);
            Assert.Contains(Text($"{study.Bpm:0.0}"), text, StringComparison.Ordinal);
            Assert.Contains(Text($"16ths {study.SwingRatio:0.00}"), text, StringComparison.Ordinal); // The invented passage swings its 16ths.
            Assert.Contains(Signed(study.KickLayBackMs!.Value), text, StringComparison.Ordinal);
        }

        window.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task The_finder_narrows_the_library_and_a_click_opens_the_study()
    {
        await using Window window = await bench.OpenAsync("");
        StudySummary wanted = bench.Studies[0];
        await window.FillWhenLiveAsync("#finder", wanted.Name[..6]);
        ILocator rows = window.Page.Locator(".contents tbody tr");
        await Assertions.Expect(rows).ToHaveCountAsync(bench.Studies.Count(study => study.Name.Contains(wanted.Name[..6], StringComparison.OrdinalIgnoreCase)));
        await window.Page.GetByRole(AriaRole.Link, new PageGetByRoleOptions { Name = wanted.Name }).ClickAsync();
        await window.WaitUntilLiveAsync();
        Assert.Equal(wanted.Name, await window.Page.Locator("h1").InnerTextAsync());
        window.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task Chart_rows_and_folded_bar_show_the_same_strokes()
    {
        await using Window window = await bench.OpenStudyAsync();
        Performance performance = bench.Whole.Performance;
        int[] all = [.. Enumerable.Range(0, performance.Hits.Count)];
        int[] placed = [.. all.Where(i => performance.Hits[i].Position is not null)];
        Assert.Equal(placed, await HitsIn(window, AllStrokes[0]));
        Assert.Equal(all, await HitsIn(window, AllStrokes[1]));
        Assert.Equal(all, await HitsIn(window, AllStrokes[2]));
        window.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task Every_feel_figure_stands_with_its_interval_and_reference()
    {
        await using Window window = await bench.OpenStudyAsync();
        FeelReport feel = bench.Whole.Feel;
        string[] rows = [.. (await window.Page.Locator(".feel > .wide tbody tr").AllInnerTextsAsync()).Select(text => text.Replace('\u00A0', ' '))];
        LayBackFigure kick = feel.LayBack.Single(figure => figure.Piece == KitPiece.Kick);
        Assert.Contains(rows, row => row.StartsWith("kick", StringComparison.Ordinal)
            && row.Contains($"{Signed(kick.Milliseconds.Low)} to {Signed(kick.Milliseconds.High)}", StringComparison.Ordinal)
            && row.Contains(Text($"{kick.Hits}"), StringComparison.Ordinal));
        SwingFigure swing = feel.Swing[0];
        Assert.Contains(rows, row => row.Contains(Text($"{swing.Ratio.Low:0.00} to {swing.Ratio.High:0.00}"), StringComparison.Ordinal));
        Assert.Contains(rows, row => row.Contains($"Measured against the {feel.ReferenceName}", StringComparison.Ordinal));
        string words = await window.Page.Locator(".words").InnerTextAsync();
        Assert.All(FeelWords.Describe(feel), sentence => Assert.Contains(sentence, words, StringComparison.Ordinal));
    }

    [SkippableTheory]
    [InlineData("original")]
    [InlineData("as-written")]
    [InlineData("swing-only")]
    [InlineData("as-played")]
    public async Task Playing_sounds_and_moves_one_playhead_everywhere(string version)
    {
        await using Window window = await bench.OpenStudyAsync(Eavesdrop);
        IPage page = window.Page;
        await page.CheckAsync($"input[name=version][value={version}]");
        await page.ClickAsync("[data-play]");
        await page.WaitForFunctionAsync("() => window.loudestHeard && window.loudestHeard() > 0.005");
        double loudest = await page.EvaluateAsync<double>("() => window.loudestHeard()");
        Assert.InRange(loudest, 0.005, 0.5012); // Never above full scale at −6 dB: 10^(−6/20) = 0.5012.
        double onAxis = await LeftOf(window, "[data-axis] [data-playhead]");
        double inChart = await LeftOf(window, "[data-chart] [data-playhead]");
        await page.WaitForTimeoutAsync(400);
        Assert.True(await LeftOf(window, "[data-axis] [data-playhead]") > onAxis + 2, "The playhead on the time axis stands still.");
        Assert.NotEqual(inChart, await LeftOf(window, "[data-chart] [data-playhead]"));
        await page.ClickAsync("[data-play]");
        await Assertions.Expect(page.Locator("[data-play]")).ToHaveTextAsync("Play");
        await page.WaitForFunctionAsync("() => window.loudestHeard() < 1e-4"); // Stopped means silent once the ear's window has passed.
        window.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task The_version_can_be_changed_while_it_plays_and_the_place_is_kept()
    {
        await using Window window = await bench.OpenStudyAsync(Eavesdrop);
        IPage page = window.Page;
        await page.ClickAsync("[data-play]");
        await page.WaitForFunctionAsync("() => window.loudestHeard && window.loudestHeard() > 0.005");
        await page.WaitForTimeoutAsync(500);
        double before = await LeftOf(window, "[data-axis] [data-playhead]");
        await page.CheckAsync("input[name=version][value=as-written]");
        await page.WaitForTimeoutAsync(300);
        Assert.True(await LeftOf(window, "[data-axis] [data-playhead]") > before, "Changing the version went back in time.");
        await Assertions.Expect(page.Locator("[data-play]")).ToHaveTextAsync("Stop");
        window.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task The_keyboard_alone_plays_stops_and_reads_strokes()
    {
        await using Window window = await bench.OpenStudyAsync(Eavesdrop);
        IPage page = window.Page;
        await page.Keyboard.PressAsync("Space");
        await Assertions.Expect(page.Locator("[data-play]")).ToHaveTextAsync("Stop");
        await page.Keyboard.PressAsync("Space");
        await Assertions.Expect(page.Locator("[data-play]")).ToHaveTextAsync("Play");
        await page.Keyboard.PressAsync("Home");
        await page.Keyboard.PressAsync("ArrowRight");
        Hit first = bench.Whole.Performance.Hits[0];
        await Assertions.Expect(page.Locator("[data-readout]")).ToContainTextAsync(first.Piece.Name());
        await Assertions.Expect(page.Locator("svg.rows .pointed")).ToHaveAttributeAsync("data-hit", "0");
        await page.Keyboard.PressAsync("Shift+ArrowRight");
        await Assertions.Expect(page.Locator("[data-where]")).ToContainTextAsync("beat 1");
        window.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task Pointing_at_a_note_marks_its_dots_and_the_other_way_round()
    {
        await using Window window = await bench.OpenStudyAsync();
        IPage page = window.Page;
        await page.ClickAsync("[data-understood]");
        int hit = bench.Whole.Performance.Hits.Count / 2;
        await page.Locator($"svg.rows .stroke[data-hit='{hit}'] .dot").HoverAsync();
        await Assertions.Expect(page.Locator($"[data-chart] .pointed[data-hit='{hit}']").First).ToBeVisibleAsync();
        await page.Locator("[data-chart] [data-hit='3']").First.HoverAsync(new LocatorHoverOptions { Force = true });
        await Assertions.Expect(page.Locator("svg.rows .pointed[data-hit='3']")).ToHaveCountAsync(1);
        await Assertions.Expect(page.Locator(".folded .pointed[data-hit='3']")).ToHaveCountAsync(1);
        await Assertions.Expect(page.Locator($"svg.rows .pointed[data-hit='{hit}']")).ToHaveCountAsync(0);
    }

    [SkippableFact]
    public async Task A_study_whose_file_is_gone_says_so_and_still_plays_its_rebuilds()
    {
        await using Window window = await bench.OpenAsync($"study/{bench.Gone.Id}", initScript: Eavesdrop);
        await window.WaitUntilLiveAsync();
        IPage page = window.Page;
        await Assertions.Expect(page.Locator(".wave.gone")).ToContainTextAsync(bench.Gone.Source!);
        Assert.Equal(0, await page.Locator("input[value=original]").CountAsync());
        await page.ClickAsync("[data-play]");
        await page.WaitForFunctionAsync("() => window.loudestHeard && window.loudestHeard() > 0.005");
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

    private static string Signed(double ms) => ms.ToString("+0.0;\u22120.0;0.0", CultureInfo.InvariantCulture);

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);

    private static async Task<int[]> HitsIn(Window window, string marks)
    {
        JsonElement? hits = await window.Page.EvaluateAsync(
            "selector => [...new Set([...document.querySelectorAll(selector)].map(mark => Number(mark.dataset.hit)))].sort((a, b) => a - b)", marks);
        return hits!.Value.Deserialize<int[]>()!;
    }

    private static Task<double> LeftOf(Window window, string selector) =>
        window.Page.EvaluateAsync<double>("selector => document.querySelector(selector).getBoundingClientRect().left", selector);
}
