using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Studies;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>Takes on an electronic kit: captured by MIDI, and told against the click when the kit's own delay is known.</summary>
[Collection(OneBrowser.Name)]
public class KitTakeTests(BenchInABrowser bench)
{
    [SkippableFact]
    public async Task A_take_on_an_electronic_kit_is_captured_aligned_compared_and_says_what_to_work_on()
    {
        Study study = bench.Fresh();
        var wish = new PlayAlongOptions { Over = PlayAlongOver.Click, Rounds = 1 };
        Pulse click = PlayAlong.PulseOf(study.Performance, wish);
        // The invented passage drifts a little; on a click the same strokes lie on its beats with the deviations that they had.
        double[][] notes = [.. study.Performance.PlacedHits()
            .Select(placed => new double[]
            {
                click.TimeAt(placed.Position).TotalSeconds + placed.Deviation.Value + (placed.Hit.Piece == KitPiece.Kick ? -0.020 : 0),
                placed.Hit.Piece.GeneralMidiKey(), placed.Hit.Velocity,
            }).OrderBy(note => note[0])];
        await using Window window = await bench.OpenStudyAsync(study, FakeInputs.Kit(notes));
        IPage page = window.Page;
        await page.SelectOptionAsync("[data-wish=over]", "click");
        await page.SelectOptionAsync("[data-wish=share]", "1");
        await page.SelectOptionAsync("[data-input]", "kit");
        await page.FillAsync("[data-wish=rounds]", "1");
        Assert.False(await page.Locator("[data-measure]").IsVisibleAsync());
        await Assertions.Expect(page.Locator("[data-delay]")).ToContainTextAsync("not known");
        await page.FillAsync("[data-kit-delay]", "9");
        await page.FillAsync("[data-kit-within]", "1.5");
        await page.Locator("[data-kit-within]").BlurAsync();
        await Assertions.Expect(page.Locator("[data-delay]")).ToContainTextAsync("9.0 ± 1.5 ms, as you gave it");
        KeptTake take = await FakeInputs.RecordAsync(bench, page, study, 60_000);
        Assert.Equal(notes.Length, take.Strokes.Count);
        // Captured: what lies between strokes is kept to the millisecond, whatever the way adds to all.
        double[] off = [.. take.Strokes.OrderBy(stroke => stroke.T).Zip(notes, (stroke, note) => stroke.T - note[0])];
        Assert.True(off.Max() - off.Min() < 0.001, $"Strokes moved by {1000 * (off.Max() - off.Min()):0.0} ms against each other.");
        Assert.Equal(0, off.Average(), 0.03);
        Assert.True(take.Found > 0.97, $"Only {take.Found:0.00} of the strokes were found, {1000 * off.Average():0} ms late in all; {string.Join(", ", take.Strokes.GroupBy(stroke => stroke.P).Select(group => $"{group.Key} {group.Count()}"))}.");
        // The kit's own delay is in what is told against the click, and nowhere else.
        double own = study.Performance.PlacedHits().Average(placed => placed.Deviation.Milliseconds + (placed.Hit.Piece == KitPiece.Kick ? -20 : 0));
        Assert.Equal((9, 1.5, true), (take.DelayMs!.Value, take.DelayWithinMs!.Value, take.AgainstClick!.OfKit));
        Assert.Equal(own + (1000 * off.Average()) - 9, take.AgainstClick.Late.Value, 0.5);
        Assert.True(take.AgainstClick.Late.HalfWidth >= 1.5);
        await Assertions.Expect(page.Locator("[data-take] p", new PageLocatorOptions { HasText = "Against what it was played to" })).ToContainTextAsync("the kit's own delay (stroke to MIDI) of 9.0 ms ± 1.5 ms");
        KeptDifference kick = take.Figures.Single(figure => figure.Figure == Feel.FeelFigures.LayBack.Id && figure.Subject == "kick");
        Assert.Equal(-20, kick.Difference.Value, 2.0);
        Assert.True(kick.Sure);
        await Assertions.Expect(page.Locator("[data-advice] li").First).ToContainTextAsync("kick");
        await Assertions.Expect(page.Locator("[data-differences] tr", new PageLocatorOptions { HasText = "Lay-back, kick" })).ToContainTextAsync("clear, can be heard");
        bench.Library.Delete(study.Id);
        window.AssertQuiet(bench);
    }

    /// <summary>Pads struck beside a microphone of known delay, told of 25 ms later: what the page measures is the 25, up to the clock of the test's own kit.</summary>
    [SkippableFact]
    public async Task A_kit_s_own_delay_is_measured_with_the_microphone()
    {
        const double delay = 0.025;
        double[][] notes = [.. Enumerable.Range(0, 16).Select(i => new[] { 1 + (0.4 * i) + delay, KitPiece.Snare.GeneralMidiKey(), 100 })];
        const string struck = """
            (() => {
              const start = AudioBufferSourceNode.prototype.start;
              AudioBufferSourceNode.prototype.start = function (when, ...rest) {
                if (this.buffer.duration > 30) for (let stroke = 0; stroke < 16; stroke++) {
                  const burst = new AudioBuffer({ length: 4800, sampleRate: this.context.sampleRate, numberOfChannels: 1 });
                  burst.getChannelData(0).forEach((_, i, all) => (all[i] = 0.5 * Math.exp(-i / 900) * (2 * Math.random() - 1)));
                  const source = new AudioBufferSourceNode(this.context, { buffer: burst });
                  source.connect(this.context.destination);
                  start.call(source, when + 1 + 0.4 * stroke);
                }
                return start.call(this, when, ...rest);
              };
            })();
            """;
        await using Window window = await bench.OpenStudyAsync(bench.Whole, FakeInputs.Loop + struck + FakeInputs.Kit(notes));
        IPage page = window.Page;
        ILocator said = page.Locator("[data-takes] [data-said]");
        await page.SelectOptionAsync("[data-input]", "kit");
        await page.ClickAsync("[data-measure-kit]");
        await Assertions.Expect(said).ToContainTextAsync("The microphone’s own delay must be known first");
        await page.SelectOptionAsync("[data-input]", "microphone");
        await page.ClickAsync("[data-measure]");
        await Assertions.Expect(said).ToContainTextAsync("Measured.", new LocatorAssertionsToContainTextOptions { Timeout = 40_000 });
        await page.SelectOptionAsync("[data-input]", "kit");
        await page.ClickAsync("[data-measure-kit]");
        await Assertions.Expect(said).ToContainTextAsync("of 16 strokes", new LocatorAssertionsToContainTextOptions { Timeout = 10_000 });
        await Assertions.Expect(said).ToHaveTextAsync("Measured.", new LocatorAssertionsToHaveTextOptions { Timeout = 40_000 });
        Assert.Equal(25, double.Parse(await page.InputValueAsync("[data-kit-delay]"), CultureInfo.InvariantCulture), 3.0);
        Assert.InRange(double.Parse(await page.InputValueAsync("[data-kit-within]"), CultureInfo.InvariantCulture), 0, 2);
        await Assertions.Expect(page.Locator("[data-delay]")).ToContainTextAsync("strokes, each within");
        // It is there again when the page is opened anew.
        await page.ReloadAsync();
        await window.WaitUntilLiveAsync();
        await page.SelectOptionAsync("[data-input]", "kit");
        await Assertions.Expect(page.Locator("[data-delay]")).ToContainTextAsync("Your kit’s own delay: 2");
        window.AssertQuiet(bench);
    }
}
