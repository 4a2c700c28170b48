using System.Globalization;
using System.Text.Json;
using Hindbeat.Feel;
using Hindbeat.Handouts;
using Hindbeat.Rebuilding;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>The lesson opened from a file: what leaves the audio graph is captured and measured.</summary>
[Collection(OneBrowser.Name)]
public sealed class LessonInABrowserTests(BenchInABrowser browser) : IDisposable
{
    /// <summary>Records what reaches the loudspeakers in an audio worklet, so that a busy page loses none of it.</summary>
    private static readonly string _recorder = $$"""
        () => {
          const source = {{JsonSerializer.Serialize(Ear.Worklet)}};
          window.heard = { rate: 0, blocks: [] };
          document.getElementById("player").addEventListener("sounding", (event) => {
            const { audio, out } = event.detail;
            window.heard.rate = audio.sampleRate;
            window.heard.ready = audio.audioWorklet.addModule("data:text/javascript," + encodeURIComponent(source)).then(() => {
              const ear = new AudioWorkletNode(audio, "ear", { numberOfOutputs: 0, channelCount: 1, channelCountMode: "explicit" });
              ear.port.onmessage = (message) => window.heard.blocks.push(message.data);
              out.connect(ear);
            });
          });
        }
        """;

    private readonly string _file = Path.Combine(Directory.CreateTempSubdirectory("hindbeat-lesson-").FullName, "lesson.html");

    [SkippableFact]
    public async Task It_plays_loops_without_a_seam_and_switches_versions_in_time_without_asking_for_anything()
    {
        Write();
        // The page's own policy would keep the worklet out, as it should.
        await using Window window = await browser.OpenFileAsync(_file, scripts: true, bypassPolicy: true);
        IPage page = window.Page;
        await page.EvaluateAsync(_recorder);
        await page.Locator("#count").UncheckAsync();
        await page.Locator("#to").SelectOptionAsync("0");
        await page.Locator("#tempo").FillAsync("130");
        await page.GetByRole(AriaRole.Button, new() { Name = "Play", Exact = true }).ClickAsync();
        await page.WaitForTimeoutAsync(6500);
        await page.Locator(".stroke.now").First.WaitForAsync(new() { State = WaitForSelectorState.Attached });
        double[] switched = await page.EvaluateAsync<double[]>("""
            () => {
              const start = performance.now(), before = window.lesson.place;
              document.querySelectorAll("input[name=version]")[3].click();
              return [before, window.lesson.place, (performance.now() - start) / 1000];
            }
            """);
        Assert.Equal(3, await page.EvaluateAsync<int>("window.lesson.version"));
        // Within the bar's loop the place goes on from where it was, at 92 bpm times 1.3.
        double moved = (switched[1] - switched[0] + 4.1) % 4;
        Assert.InRange(moved - 0.1, -0.1, (switched[2] * 2) + 0.1);
        await page.GetByRole(AriaRole.Button, new() { Name = "Stop", Exact = true }).ClickAsync();
        Assert.Equal(0, await page.Locator(".stroke.now").CountAsync());

        double lap = await page.EvaluateAsync<double>("() => { const d = JSON.parse(document.getElementById('lesson-sound').textContent); return (d.versions[0].beats[4] - d.versions[0].beats[0]) / 1.3; }");
        (double likeness, double late) = await SeamAsync(page, lap);
        Assert.True(likeness > 0.98, string.Create(CultureInfo.InvariantCulture, $"Two laps of the loop are alike by {likeness:0.000} only."));
        Assert.InRange(late, -0.001, 0.001);
        Assert.Empty(window.Complaints);
        // The worklet is the test's own ear.
        Assert.DoesNotContain(window.Requests, request => !request.StartsWith("data:", StringComparison.Ordinal));
    }

    /// <summary>The next lap is made ready before the one that sounds has ended, and a count-in sounds before the first: a switch then must not jump either.</summary>
    [SkippableFact]
    public async Task A_switch_at_any_moment_of_loop_or_count_in_goes_on_from_there()
    {
        Write();
        await using Window window = await browser.OpenFileAsync(_file, scripts: true);
        IPage page = window.Page;
        await page.Locator("#to").SelectOptionAsync("0");
        await page.Locator("#tempo").FillAsync("130");
        await page.Locator("#click").SelectOptionAsync("beats");
        await page.GetByRole(AriaRole.Button, new() { Name = "Play", Exact = true }).ClickAsync();
        double[] jumps = await page.EvaluateAsync<double[]>("""
            async () => {
              const data = JSON.parse(document.getElementById("lesson-sound").textContent), radios = document.querySelectorAll("input[name=version]"), jumps = [];
              const lap = data.beatsPerBar, perSecond = data.bpm / 60 * 1.3;
              for (let i = 0; i < 70; i++) {
                await new Promise((done) => setTimeout(done, 61 + (i * 37) % 90));
                const started = performance.now(), before = window.lesson.place;
                radios[(i + 1) % radios.length].click();
                const moved = window.lesson.place - before, gone = (performance.now() - started) / 1000 * perSecond;
                jumps.push(moved - lap * Math.round(moved / lap), gone);
              }
              return jumps;
            }
            """);
        // A switch takes hold 20 ms ahead, at 92 bpm times 1.3.
        for (int i = 0; i < jumps.Length; i += 2)
            Assert.InRange(jumps[i], -0.06, jumps[i + 1] + 0.06);
        Assert.Empty(window.Complaints);
    }

    [SkippableFact]
    public async Task It_has_no_serious_fault_for_those_who_cannot_see_or_point()
    {
        Write();
        await using Window window = await browser.OpenFileAsync(_file, scripts: true);
        Assert.Empty(await AccessibilityTests.SeriousAsync(window.Page));
    }

    [SkippableFact]
    public async Task Without_scripts_chart_and_words_are_there()
    {
        Write();
        await using Window window = await browser.OpenFileAsync(_file, scripts: false);
        Assert.True(await window.Page.Locator("figure.page svg").First.IsVisibleAsync());
        Assert.True(await window.Page.GetByText("The sound needs scripts").IsVisibleAsync());
        Assert.False(await window.Page.Locator("#player").IsVisibleAsync());
    }

    [SkippableTheory]
    [InlineData("A4")]
    [InlineData("Letter")]
    public async Task It_prints_without_its_player(string paper)
    {
        Write();
        await using Window window = await browser.OpenFileAsync(_file, scripts: true);
        byte[] pdf = await window.Page.PdfAsync(new PagePdfOptions { Format = paper });
        Assert.StartsWith("%PDF-", System.Text.Encoding.ASCII.GetString(pdf, 0, 5), StringComparison.Ordinal);
        await window.Page.EmulateMediaAsync(new PageEmulateMediaOptions { Media = Media.Print });
        Assert.False(await window.Page.Locator("#player").IsVisibleAsync());
        Assert.True(await window.Page.Locator("figure.page svg").First.IsVisibleAsync());
    }

    public void Dispose() => Directory.Delete(Path.GetDirectoryName(_file)!, recursive: true);

    private void Write()
    {
        InventedPassage passage = InventedPassage.Make(5);
        using var writer = new StreamWriter(_file);
        LessonPage.Write(new Lesson("Late Tram Home", passage.Performance, FeelAnalysis.Measure(passage.Performance), HouseKit.Load()) { Words = "# First\n\nListen to the *kick*." }, writer);
    }

    /// <summary>How alike the second and third lap are at the very distance of one lap, and how far off that distance the best likeness lies, seconds.</summary>
    private static async Task<(double Likeness, double Late)> SeamAsync(IPage page, double lap)
    {
        double[] found = await page.EvaluateAsync<double[]>("""
            (lap) => {
              const { rate, blocks } = window.heard, start = blocks[0][0], last = blocks[blocks.length - 1], all = new Float32Array(last[0] + last[1].length - start);
              for (const [frame, block] of blocks) all.set(block, frame - start);
              let first = 0;
              while (first < all.length && Math.abs(all[first]) < 0.005) first++;
              const from = Math.round(first + (lap * 1.05 * rate)), length = Math.round(lap * 0.9 * rate), best = { likeness: -1, lag: 0 };
              const alike = (lag) => {
                let ab = 0, aa = 0, bb = 0;
                for (let i = 0; i < length; i++) { const a = all[from + i], b = all[from + i + lag]; ab += a * b; aa += a * a; bb += b * b; }
                return ab / Math.sqrt(aa * bb + 1e-12);
              };
              const middle = Math.round(lap * rate);
              for (let off = -96; off <= 96; off++) { const likeness = alike(middle + off); if (likeness > best.likeness) Object.assign(best, { likeness, lag: off / rate }); }
              return [best.likeness, best.lag];
            }
            """, lap);
        return (found[0], found[1]);
    }
}
