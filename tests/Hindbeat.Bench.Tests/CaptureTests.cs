using System.Globalization;
using System.Numerics.Tensors;
using System.Runtime.InteropServices;
using Hindbeat.Sound;
using Hindbeat.Takes;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>What comes in by microphone lies where it came: to the sample, and however busy the browser is.</summary>
[Collection(OneBrowser.Name)]
public class CaptureTests(BenchInABrowser bench)
{
    private const int Rate = 48000;
    private const double BurstSeconds = 0.04, Ahead = 0.2;

    /// <summary>
    /// Through the browser's own capture, whose way is unknown: a burst of noise ahead of each click in what the microphone hears is
    /// found in the samples that the page sent, by the test's own correlation, and says how late the clicks truly came. A busy browser
    /// drops or repeats 10 ms of its microphone now and then, for good; what most of the bursts say is the way that most of the clicks had.
    /// </summary>
    [SkippableFact]
    public async Task The_delay_of_the_browser_s_own_capture_is_measured_within_a_millisecond()
    {
        const double silence = 1.9;
        StereoSound clicks = CalibrationClicks.Make(Rate);
        float[] heard = new float[(int)((silence + CalibrationClicks.Length.Value + 4) * Rate)];
        clicks.Left.CopyTo(heard, (int)(silence * Rate));
        var random = new Random(11);
        // Each is another noise, so that none is found in another's place.
        float[][] bursts = [.. CalibrationClicks.Played.Select(_ => Enumerable.Range(0, (int)(BurstSeconds * Rate)).Select(_ => (float)(0.5 * ((2 * random.NextDouble()) - 1))).ToArray())];
        foreach ((float[] burst, Units.AudioTime click) in bursts.Zip(CalibrationClicks.Played))
            burst.CopyTo(heard, (int)((silence + click.TotalSeconds - Ahead) * Rate));
        FakeInputs.Microphone(bench, heard, Rate);
        await using Window window = await bench.OpenStudyAsync();
        IPage page = window.Page;
        IRequest sent = await page.RunAndWaitForRequestAsync(() => page.ClickAsync("[data-measure]"), request => request.Url.Contains("/practice/delay", StringComparison.Ordinal), new PageRunAndWaitForRequestOptions { Timeout = 60_000 });
        await Assertions.Expect(page.Locator("[data-takes] [data-said]")).ToContainTextAsync("Measured.", new LocatorAssertionsToContainTextOptions { Timeout = 30_000 });
        double measured = double.Parse((await page.Locator("[data-delay]").InnerTextAsync()).Split(": ")[1].Split(" ±")[0], CultureInfo.InvariantCulture);
        int own = int.Parse(sent.Url.Split("rate=")[1], CultureInfo.InvariantCulture);
        float[] samples = MemoryMarshal.Cast<byte, float>(sent.PostDataBuffer).ToArray();
        double[] delays = [.. bursts.Zip(CalibrationClicks.Played, (burst, click) =>
            1000 * (Found(samples, own == Rate ? burst : Resampler.Resample(burst, Rate, own), own) + Ahead - click.TotalSeconds)).Order()];
        double known = delays[delays.Length / 2];
        Assert.True(delays.Count(delay => Math.Abs(delay - known) < 1) > delays.Length / 2, $"The bursts came by no one way: {string.Join(", ", delays.Select(delay => delay.ToString("0.0", CultureInfo.InvariantCulture)))} ms.");
        Assert.Equal(known, measured, 1.0);
        window.AssertQuiet(bench);
    }

    /// <summary>
    /// Blocks as a busy Chromium was seen to number them (N, N, N, then N + 384) lie one after another; where a number is ahead,
    /// nothing came in, and that much silence is left. capture.js itself runs here, in a page that stands in for the audio thread.
    /// </summary>
    [SkippableFact]
    public async Task Blocks_that_the_browser_numbers_alike_do_not_cover_each_other()
    {
        await using Window window = await bench.OpenStudyAsync();
        double[][] placed = await window.Page.EvaluateAsync<double[][]>("""
            async () => {
              const sent = [];
              globalThis.AudioWorkletProcessor = class { port = { postMessage: ([first, samples]) => sent.push([first, ...samples]) }; };
              let capture;
              globalThis.registerProcessor = (_, Processor) => (capture = new Processor());
              await import("/capture.js?test");
              const numbers = [1000, 1128, 1128, 1128, 1512, 1640, 1768, 1896, 2024, 2152, 2152, 2664];
              for (let i = 0; i < 24; i++) {
                globalThis.currentFrame = numbers[i] ?? 2664 + 128 * (i - 11);
                capture.process([[new Float32Array(128).fill(i + 1)]]);
              }
              capture.process([[]]);
              return sent;
            }
            """);
        var laid = new SortedDictionary<int, double>();
        foreach (double[] block in placed)
        {
            for (int i = 1; i < block.Length; i++)
                Assert.True(laid.TryAdd((int)block[0] + i - 1, block[i]), "Two blocks lie on one another.");
        }

        // Blocks 1 to 11 without a hole from the first number on; the twelfth's number is ahead of its turn by two blocks.
        Assert.Equal(1000, laid.Keys.First());
        Assert.All(laid, sample => Assert.Equal(sample.Key < 1000 + (11 * 128) ? ((sample.Key - 1000) / 128) + 1 : ((sample.Key - 2664) / 128) + 12, sample.Value));
        Assert.DoesNotContain(laid.Keys, frame => frame is >= 1000 + (11 * 128) and < 2664);
        Assert.True(laid.Count >= 11 * 128 + 1024);
        window.AssertQuiet(bench);
    }

    /// <summary>Where a sound begins in a recording, seconds.</summary>
    private static double Found(float[] samples, float[] sought, int rate)
    {
        double best = 0;
        int at = 0;
        for (int i = 0; i + sought.Length < samples.Length; i++)
        {
            double dot = Math.Abs(TensorPrimitives.Dot<float>(samples.AsSpan(i, sought.Length), sought));
            if (dot > best)
                (best, at) = (dot, i);
        }

        Assert.True(best > 1, "The microphone was not heard.");
        return (double)at / rate;
    }
}
