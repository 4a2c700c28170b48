using System.Text.Json;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>Looking closer: by fingers, down to samples, and at the spectrogram.</summary>
[Collection(OneBrowser.Name)]
public class ViewTests(BenchInABrowser bench)
{
    /// <summary>What of the recording the axis shows, seconds.</summary>
    private const string Shown = """
        () => {
          const canvas = document.querySelector("[data-timeline]");
          return [Number(canvas.dataset.from), Number(canvas.dataset.to)];
        }
        """;

    [SkippableFact]
    public async Task Two_fingers_spread_look_closer_and_drawn_along_they_pan()
    {
        await using Window window = await bench.OpenAsync($"study/{bench.Whole.Id}", 1024, touch: true);
        await window.WaitUntilLiveAsync();
        IPage page = window.Page;
        double[] whole = await page.EvaluateAsync<double[]>(Shown);
        await page.Locator("[data-timeline]").ScrollIntoViewIfNeededAsync();
        LocatorBoundingBoxResult box = (await page.Locator("[data-timeline]").BoundingBoxAsync())!;
        double y = box.Y + 60, left = box.X + (box.Width * 0.4), right = box.X + (box.Width * 0.6);
        ICDPSession fingers = await page.Context.NewCDPSessionAsync(page);
        Task Touch(string kind, params double[] xs) => fingers.SendAsync("Input.dispatchTouchEvent", new Dictionary<string, object>
        {
            ["type"] = kind,
            ["touchPoints"] = xs.Select((x, id) => new { x, y, id }).ToArray(),
        });
        await Touch("touchStart", left);
        await Touch("touchStart", left, right);
        for (int step = 1; step <= 8; step++)
            await Touch("touchMove", left - (step * box.Width * 0.025), right + (step * box.Width * 0.025));
        await page.WaitForTimeoutAsync(150); // Moves are given out once a frame.
        double[] closer = await page.EvaluateAsync<double[]>(Shown);
        // From a fifth of the axis to three fifths: a third of the passage is shown, and the moments stay under the fingers.
        Assert.Equal((whole[1] - whole[0]) / 3, closer[1] - closer[0], 0.05);
        double held = whole[0] + (0.4 * (whole[1] - whole[0]));
        Assert.Equal(held, closer[0] + (0.2 * (closer[1] - closer[0])), 0.05);
        for (int step = 1; step <= 8; step++)
            await Touch("touchMove", left - (box.Width * 0.2) - (step * 10), right + (box.Width * 0.2) - (step * 10));
        await page.WaitForTimeoutAsync(150);
        double[] panned = await page.EvaluateAsync<double[]>(Shown);
        Assert.Equal(closer[1] - closer[0], panned[1] - panned[0], 0.02);
        Assert.Equal(closer[0] + (80 / box.Width * (closer[1] - closer[0])), panned[0], 0.05);
        await Touch("touchEnd");
        Assert.Equal(0, bench.Library.Load(bench.Whole.Id)!.Revision);
        window.AssertQuiet(bench);
    }

    [SkippableFact]
    public async Task The_spectrogram_comes_on_request_where_the_strokes_are_and_goes_again()
    {
        await using Window window = await bench.OpenStudyAsync();
        IPage page = window.Page;
        double before = (await page.Locator("[data-timeline]").BoundingBoxAsync())!.Height;
        Assert.DoesNotContain(window.Requests, address => address.Contains("/spectrum?", StringComparison.Ordinal));
        IResponse answer = await page.RunAndWaitForResponseAsync(() => page.Keyboard.PressAsync("s"), response => response.Url.Contains("/spectrum?", StringComparison.Ordinal));
        byte[] picture = await answer.BodyAsync();
        await Assertions.Expect(page.Locator("[data-spectrum]")).ToHaveAttributeAsync("aria-pressed", "true");
        Assert.Equal(before + 128, (await page.Locator("[data-timeline]").BoundingBoxAsync())!.Height, 1);
        await page.WaitForTimeoutAsync(200);
        // The page must show what came: darkest where the picture is loudest. Columns of the canvas against columns of the answer.
        JsonElement? drawn = await page.EvaluateAsync("""
            () => {
              const canvas = document.querySelector("[data-timeline]"), scale = canvas.width / canvas.clientWidth;
              const { data, width, height } = canvas.getContext("2d").getImageData(0, Math.round((26 + 96) * scale), canvas.width, Math.round(128 * scale));
              const sums = Array(canvas.clientWidth).fill(0);
              for (let y = 0; y < height; y++) for (let x = 0; x < width; x++) sums[Math.min(sums.length - 1, Math.floor(x / scale))] += data[4 * (y * width + x) + 3];
              return sums;
            }
            """);
        double[] ink = [.. drawn!.Value.EnumerateArray().Select(each => each.GetDouble())];
        int rows = picture.Length / ink.Length;
        double[] loud = [.. Enumerable.Range(0, ink.Length).Select(column => picture.Skip(column * rows).Take(rows).Sum(value => Math.Pow(Math.Max(0, value - 60) / 195.0, 1.5)))];
        // Bar lines, beats' lines and the names of the pitches lie over it.
        double[] lines = [.. bench.Whole.Performance.Pulse.Beats.Select(beat => (beat.Time - bench.Whole.From).Value / (bench.Whole.To - bench.Whole.From).Value * ink.Length)];
        int[] clear = [.. Enumerable.Range(60, ink.Length - 60).Where(column => lines.All(line => Math.Abs(line - column) > 3))];
        double together = Correlation([.. clear.Select(column => ink[column])], [.. clear.Select(column => loud[column])]);
        Assert.True(together > 0.95, $"What is drawn goes with what came by {together:0.00} only.");
        await page.Keyboard.PressAsync("s");
        Assert.Equal(before, (await page.Locator("[data-timeline]").BoundingBoxAsync())!.Height, 1);
        window.AssertQuiet(bench);
    }

    private static double Correlation(double[] a, double[] b)
    {
        double meanA = a.Average(), meanB = b.Average();
        double both = a.Zip(b, (x, y) => (x - meanA) * (y - meanB)).Sum();
        return both / Math.Sqrt(a.Sum(x => (x - meanA) * (x - meanA)) * b.Sum(y => (y - meanB) * (y - meanB)));
    }
}
