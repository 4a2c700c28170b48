using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Studies;
using Hindbeat.Units;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>Pulse, strokes, feel and chart changed by hand: what is pressed is in the library, and on the page, a moment later.</summary>
[Collection(OneBrowser.Name)]
public class EditingTests(BenchInABrowser bench)
{
    /// <summary>Heights of the timeline's parts (timeline.js): bar numbers, sound, beats, then a row a piece.</summary>
    private const double Ruler = 26, Wave = 96, Beats = 26, Row = 30;

    [SkippableFact]
    public async Task The_pulse_is_halved_doubled_counted_otherwise_and_undone()
    {
        Study study = bench.Fresh();
        await using Window window = await bench.OpenStudyAsync(study);
        IPage page = window.Page;
        await page.ClickAsync("[data-halve]");
        await window.WaitForRevisionAsync(1);
        Assert.Equal(study.Performance.Pulse.MeanTempo.Value / 2, Stored(study).Performance.Pulse.MeanTempo.Value, 0.5);
        await Assertions.Expect(page.Locator("[data-pulse-sure]")).ToContainTextAsync("by hand");
        await Assertions.Expect(page.Locator("[data-undo]")).ToContainTextAsync("halve");
        await page.ClickAsync("[data-double]");
        await window.WaitForRevisionAsync(2);
        await page.SelectOptionAsync("[data-meter]", "3/4");
        await window.WaitForRevisionAsync(3);
        Assert.Equal(new Meter(3, 4), Stored(study).Performance.Meter);
        for (int revision = 4; revision <= 6; revision++)
        {
            await page.Keyboard.PressAsync("Control+z");
            await window.WaitForRevisionAsync(revision);
        }

        Study back = Stored(study);
        Assert.Equal(study.Performance.Pulse.Beats, back.Performance.Pulse.Beats);
        Assert.Equal(study.Performance.Hits, back.Performance.Hits);
        Assert.Equal(3, back.UndoneChanges.Count);
        await page.Keyboard.PressAsync("Control+Shift+z");
        await window.WaitForRevisionAsync(7);
        Assert.Equal(study.Performance.Pulse.MeanTempo.Value / 2, Stored(study).Performance.Pulse.MeanTempo.Value, 0.5);
        Remove(study, window);
    }

    [SkippableFact]
    public async Task A_beat_is_drawn_elsewhere_and_nudged_and_bar_1_is_set_at_the_playhead()
    {
        Study study = bench.Fresh();
        await using Window window = await bench.OpenStudyAsync(study);
        IPage page = window.Page;
        Beat beat = study.Performance.Pulse.Beats.First(each => each is { Bar: 3, Number: 2 });
        (float x, float y) = await window.OnTimelineAsync(study, beat.Time.TotalSeconds, Ruler + Wave + (Beats / 2));
        await page.Mouse.MoveAsync(x, y);
        await page.Mouse.DownAsync();
        await page.Mouse.MoveAsync(x + 12, y, new MouseMoveOptions { Steps = 4 });
        await page.Mouse.UpAsync();
        await window.WaitForRevisionAsync(1);
        BeatMoved moved = Assert.IsType<BeatMoved>(Assert.Single(Stored(study).Corrections));
        Assert.Equal((3, 2), (moved.Bar, moved.Beat));
        LocatorBoundingBoxResult box = (await page.Locator("[data-timeline]").BoundingBoxAsync())!;
        Assert.Equal(beat.Time.TotalSeconds + (12 / box.Width * (study.To - study.From).Value), moved.Time.TotalSeconds, 0.02);

        // Without drawing (WCAG 2.2, success criterion 2.5.7): the beat at the playhead, by a button.
        (x, y) = await window.OnTimelineAsync(study, study.Performance.Pulse.Beats.First(each => each is { Bar: 4, Number: 1 }).Time.TotalSeconds, Ruler + 40);
        await page.Mouse.ClickAsync(x, y);
        double before = Time(Stored(study), 4, 1);
        await page.ClickAsync("[data-nudge-beat='0.005']");
        await window.WaitForRevisionAsync(2);
        Assert.Equal(before + 0.005, Time(Stored(study), 4, 1), 1e-6);

        (x, y) = await window.OnTimelineAsync(study, Time(Stored(study), 2, 1), Ruler + 40);
        double two = Time(Stored(study), 2, 1);
        await page.Mouse.ClickAsync(x, y);
        await page.ClickAsync("[data-bar-one]");
        await window.WaitForRevisionAsync(3);
        Assert.Equal(two, Time(Stored(study), 1, 1), 1e-6);
        Remove(study, window);
    }

    [SkippableFact]
    public async Task Tapping_along_reads_the_pulse_by_the_taps()
    {
        Study study = bench.Fresh();
        study = bench.Library.Change(study.Id, each => StudyHistory.Do(each, new PulseCorrected([new TempoHalved()])))!;
        await using Window window = await bench.OpenStudyAsync(study);
        IPage page = window.Page;
        await page.Keyboard.PressAsync("Space");
        await Assertions.Expect(page.Locator("[data-play]")).ToHaveTextAsync("Stop");
        // A steady hand in the browser itself: a round trip to the test would tap unevenly. From the first beat 1 on the passage's own beats.
        double first = bench.Whole.Performance.Pulse.Beats[0].Time.TotalSeconds, length = bench.Whole.Performance.Pulse.MeanTempo.Beat.Value;
        await page.EvaluateAsync("""
            ([first, length, to]) => new Promise((done) => {
              const canvas = document.querySelector("[data-timeline]"), head = document.querySelector("[data-axis] [data-playhead]");
              const place = () => (Number(head.style.transform.match(/[\d.]+/)[0]) / canvas.clientWidth) * to;
              let next = first;
              const look = () => {
                if (place() >= next - 0.03) {
                  document.body.dispatchEvent(new KeyboardEvent("keydown", { key: "t", bubbles: true }));
                  next += length;
                }
                if (next > first + 8.5 * length) done();
                else requestAnimationFrame(look);
              };
              look();
            })
            """, new[] { first, length, (study.To - study.From).Value });
        await window.WaitForRevisionAsync(2);
        Assert.Equal(bench.Whole.Performance.Pulse.MeanTempo.Value, Stored(study).Performance.Pulse.MeanTempo.Value, 1.0);
        await page.Keyboard.PressAsync("Space");
        Remove(study, window);
    }

    [SkippableFact]
    public async Task Strokes_are_moved_turned_added_confirmed_and_deleted()
    {
        Study study = bench.Fresh();
        await using Window window = await bench.OpenStudyAsync(study);
        IPage page = window.Page;
        IReadOnlyList<KitPiece> rows = Wording.PieceOrder.Of(study.Performance.Hits);
        double Middle(KitPiece piece) => Ruler + Wave + Beats + (Row * (rows.ToList().IndexOf(piece) + 0.5));

        // The doubtful one comes up by its key, is heard to be right, and is confirmed by another.
        await page.Keyboard.PressAsync("d");
        await Assertions.Expect(page.Locator("[data-strip]")).ToContainTextAsync("35 % sure");
        await page.Keyboard.PressAsync("c");
        await window.WaitForRevisionAsync(1);
        Assert.DoesNotContain(Stored(study).Performance.Hits, hit => hit.Confidence < 0.5);
        await Assertions.Expect(page.Locator("[data-doubtful-count]")).ToHaveTextAsync("0");
        await page.Keyboard.PressAsync("Escape");
        await Assertions.Expect(page.Locator("[data-strip]")).ToHaveCountAsync(0);

        // Drawn along its row a stroke is moved in time.
        Hit tom = study.Performance.Hits.Single(hit => hit.Piece == KitPiece.TomHigh);
        (float x, float y) = await window.OnTimelineAsync(study, tom.Time.TotalSeconds, Middle(KitPiece.TomHigh));
        await Draw(page, x, y, x - 10, y);
        await window.WaitForRevisionAsync(2);
        Hit now = Stored(study).Performance.Hits.Single(hit => hit.Piece == KitPiece.TomHigh);
        LocatorBoundingBoxResult box = (await page.Locator("[data-timeline]").BoundingBoxAsync())!;
        Assert.Equal(tom.Time.TotalSeconds - (10 / box.Width * (study.To - study.From).Value), now.Time.TotalSeconds, 0.02);

        // To another row it becomes that piece and keeps its moment.
        (x, y) = await window.OnTimelineAsync(study, now.Time.TotalSeconds, Middle(KitPiece.TomHigh));
        await Draw(page, x, y, x, (float)(y + Middle(KitPiece.TomLow) - Middle(KitPiece.TomHigh)));
        await window.WaitForRevisionAsync(3);
        Assert.Contains(Stored(study).Performance.Hits, hit => hit.Piece == KitPiece.TomLow && hit.Time == now.Time);

        // An empty place of a row, pressed twice, is a stroke.
        rows = Wording.PieceOrder.Of(Stored(study).Performance.Hits);
        double free = study.Performance.Pulse.Beats.First(each => each is { Bar: 1, Number: 1 }).Time.TotalSeconds;
        (x, y) = await window.OnTimelineAsync(study, free, Middle(KitPiece.TomLow));
        await page.Mouse.DblClickAsync(x, y);
        await window.WaitForRevisionAsync(4);
        Hit added = Stored(study).Performance.Hits.First(hit => hit.Piece == KitPiece.TomLow);
        Assert.Equal(free, added.Time.TotalSeconds, 0.03);
        Assert.NotNull(added.Position);

        // Pressed it shows its slip; a millisecond, another piece and away with it.
        await page.Mouse.ClickAsync(x, y);
        await page.Locator("[data-strip]").WaitForAsync();
        await page.GetByLabel("One millisecond later").ClickAsync();
        await window.WaitForRevisionAsync(5);
        Assert.Equal(added.Time.TotalSeconds + 0.001, Stored(study).Performance.Hits.First(hit => hit.Piece == KitPiece.TomLow).Time.TotalSeconds, 1e-9);
        await page.SelectOptionAsync("[data-piece]", "china");
        await window.WaitForRevisionAsync(6);
        Assert.Contains(Stored(study).Performance.Hits, hit => hit.Piece == KitPiece.China);
        await page.ClickAsync("[data-delete]");
        await window.WaitForRevisionAsync(7);
        Assert.DoesNotContain(Stored(study).Performance.Hits, hit => hit.Piece == KitPiece.China);
        await Assertions.Expect(page.Locator("[data-strip]")).ToHaveCountAsync(0);
        Remove(study, window);
    }

    [SkippableFact]
    public async Task The_reference_is_switched_and_the_figures_with_it()
    {
        Study study = bench.Fresh();
        await using Window window = await bench.OpenStudyAsync(study);
        await window.Page.SelectOptionAsync("[data-reference]", "Snare");
        await window.WaitForRevisionAsync(1);
        FeelReport feel = Stored(study).Feel;
        Assert.Equal(FeelReference.Snare, feel.Reference);
        await Assertions.Expect(window.Page.Locator(".margin > p")).ToContainTextAsync(feel.ReferenceName);
        LayBackFigure kick = feel.LayBack.Single(figure => figure.Piece == KitPiece.Kick);
        await Assertions.Expect(window.Page.Locator(".margin")).ToContainTextAsync(FeelFigures.LayBack.Format(kick.Milliseconds.Value));
        // What cannot be is said and changes nothing: there is no click here.
        await window.Page.SelectOptionAsync("[data-reference]", "Click");
        await Task.Delay(600);
        if (Stored(study).Revision == 1)
            await Assertions.Expect(window.Page.Locator("[data-message]")).Not.ToBeEmptyAsync();
        Remove(study, window);
    }

    [SkippableFact]
    public async Task Pointing_at_a_figure_marks_its_strokes_and_hearing_it_plays_only_their_bars()
    {
        await using Window window = await bench.OpenStudyAsync();
        await window.WaitForSoundAsync();
        IPage page = window.Page;
        FeelLine[] lines = [.. FeelFigures.LayBack.Lines(bench.Whole.Feel)];
        IReadOnlyList<int> kicks = FigureStrokes.Of(FeelFigures.LayBack, bench.Whole.Feel, bench.Whole.Performance)[Array.FindIndex(lines, line => line.Subject == "kick")];
        ILocator row = page.GetByLabel("Show and hear the strokes of Lay-back, kick").First;
        await row.FocusAsync();
        await Assertions.Expect(page.Locator(".folded .of-figure")).ToHaveCountAsync(kicks.Count);

        // Places: the high tom's fill stands in bar 8 alone, so only bar 8 sounds.
        await page.Locator(".feel details summary").First.ClickAsync();
        ILocator rare = page.Locator("tr[data-hits] button[aria-label*='Touch, open hat']").First;
        await rare.ClickAsync();
        await Assertions.Expect(page.Locator("[data-play]")).ToHaveTextAsync("Stop");
        string said = await page.Locator("[data-loop-said]").InnerTextAsync();
        int[] bars = [.. bench.Whole.Performance.Hits.Where(hit => hit is { Piece: KitPiece.HatOpen, Position: not null }).Select(hit => hit.Position!.Value.Bar).Distinct()];
        Assert.All(bars, bar => Assert.Contains(Text(bar), said, StringComparison.Ordinal));
        Assert.DoesNotContain("–", said, StringComparison.Ordinal); // Open hats are in single bars with others between them.
        await page.Keyboard.PressAsync("Escape");
        window.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task The_chart_is_edited_in_place_and_its_edits_are_kept_with_the_study()
    {
        Study study = bench.Fresh();
        await using Window window = await bench.OpenStudyAsync(study);
        IPage page = window.Page;
        // A note pressed in the chart, written elsewhere.
        int index = study.Performance.Hits.ToList().FindIndex(hit => hit is { Piece: KitPiece.Snare, Position: { Bar: 1, Beat: 2 } } && hit.Position.Value.Within == 0);
        await page.Locator($"[data-chart] [data-hit='{index}']").First.DispatchEventAsync("click");
        await page.SelectOptionAsync("[data-place]", "1:2:1/3");
        await window.WaitForRevisionAsync(1);
        Assert.Contains(Stored(study).Performance.Hits, hit => hit.Piece == KitPiece.Snare && hit.Position == new BarPosition(1, 2, new Fraction(1, 3)));
        await page.Locator("[data-strip] label", new PageLocatorOptions { HasText = "accent" }).ClickAsync();
        await window.WaitForRevisionAsync(2);
        await page.ClickAsync("[data-let-go]");

        // A bar typed.
        await page.ClickAsync(".typing summary");
        await page.FillAsync("[data-typed-number]", "2");
        await page.Locator("[data-typed-number]").BlurAsync();
        await Assertions.Expect(page.Locator("[data-typed]")).ToHaveValueAsync(new System.Text.RegularExpressions.Regex("^bar 2 in 4/4"));
        await page.FillAsync("[data-typed]", "bar 2 in 4/4\nkick: 1, 3\nsnare: 2, 4\n");
        await page.ClickAsync("[data-write-bar]");
        await window.WaitForRevisionAsync(3);
        Assert.Equal(4, Stored(study).Performance.Hits.Count(hit => hit.Position?.Bar == 2));
        // Mistyped: said in one line, nothing changed.
        await page.FillAsync("[data-typed]", "bar 2 in 4/4\ntriangle: 1\n");
        await page.ClickAsync("[data-write-bar]");
        await Assertions.Expect(page.Locator("[data-message]")).ToContainTextAsync("triangle");
        Assert.Equal(3, Stored(study).Revision);

        await page.SelectOptionAsync("[data-swing-writing]", "Dotted");
        await window.WaitForRevisionAsync(4);
        Assert.Equal(SwingWriting.Dotted, StudyEditor.Writing(Stored(study), new ChartOptions()).SwingWriting);
        string written = await page.Locator("[data-chart] svg").InnerHTMLAsync();
        await page.CheckAsync("input[name=look][value=played]");
        await page.WaitForFunctionAsync("before => document.querySelector('[data-chart] svg').innerHTML !== before", written);
        Assert.Equal([typeof(MoveStroke), typeof(MarkStroke), typeof(TypeBar), typeof(WriteSwing)], Stored(study).Edits.Select(edit => edit.GetType()));
        Remove(study, window);
    }

    private Study Stored(Study study) => bench.Library.Load(study.Id)!;

    private static double Time(Study study, int bar, int beat) => study.Performance.Pulse.Beats.First(each => each.Bar == bar && each.Number == beat).Time.TotalSeconds;

    private static string Text(int number) => number.ToString(System.Globalization.CultureInfo.InvariantCulture);

    private static async Task Draw(IPage page, float fromX, float fromY, float toX, float toY)
    {
        await page.Mouse.MoveAsync(fromX, fromY);
        await page.Mouse.DownAsync();
        await page.Mouse.MoveAsync(toX, toY, new MouseMoveOptions { Steps = 4 });
        await page.Mouse.UpAsync();
    }

    private void Remove(Study study, Window window)
    {
        bench.Library.Delete(study.Id);
        window.AssertQuiet(bench);
    }
}
