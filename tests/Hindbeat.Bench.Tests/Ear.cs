using System.Text.Json;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>
/// Records, sample by sample and with the clock's own frame numbers, what the page sends to the loudspeaker: an audio worklet is
/// hung beside whatever is connected to the destination. The sound itself is not touched. A busy browser numbers several blocks in
/// a row alike (see capture.js), so they are counted on from each other.
/// </summary>
internal sealed class Ear
{
    /// <summary>The worklet's script: processor "ear" posts [frame, samples] of its input.</summary>
    public const string Worklet = """
        registerProcessor("ear", class extends AudioWorkletProcessor {
          #next = 0;
          process([input]) {
            const frame = Math.max(currentFrame, this.#next);
            this.#next = frame + 128;
            if (input[0]) this.port.postMessage([frame, input[0].slice()]);
            return true;
          }
        });
        """;

    private const string Script = """
        (() => {
          const connect = AudioNode.prototype.connect;
          const blocks = [];
          window.ear = { blocks, from: 0, ready: null, rate: 0, context: null };
          AudioNode.prototype.connect = function (to, ...rest) {
            if (to instanceof AudioDestinationNode && this.context instanceof AudioContext) {
              const node = this, context = this.context;
              window.ear.rate = context.sampleRate;
              window.ear.context = context;
              window.ear.ready = context.audioWorklet.addModule(URL.createObjectURL(new Blob([window.earSource], { type: "text/javascript" }))).then(() => {
                const ear = new AudioWorkletNode(context, "ear", { numberOfOutputs: 0, channelCount: 1, channelCountMode: "explicit" });
                ear.port.onmessage = (event) => blocks.push(event.data);
                connect.call(node, ear);
              });
            }
            return connect.call(this, to, ...rest);
          };
        })();
        """;

    private readonly IPage _page;

    private Ear(IPage page) => _page = page;

    /// <summary>To be run in a page before its own scripts; the page's own policy would keep the worklet out, as it should.</summary>
    public static string InitScript { get; } = $"window.earSource = {JsonSerializer.Serialize(Worklet)};{Script}";

    /// <summary>An ear in a page that has sounded already.</summary>
    public static async Task<Ear> InAsync(IPage page)
    {
        await page.WaitForFunctionAsync("() => window.ear.ready");
        await page.EvaluateAsync("() => window.ear.ready");
        return new Ear(page);
    }

    public static async Task<(Window Window, Ear Ear)> OpenAsync(BenchInABrowser bench, Hindbeat.Studies.Study study)
    {
        Window window = await bench.OpenAsync($"study/{study.Id}", initScript: InitScript, bypassPolicy: true);
        await window.WaitUntilLiveAsync();
        await window.WaitForSoundAsync();
        // The first start opens the sound; the ear hangs itself up then.
        await window.Page.ClickAsync("[data-play]");
        Ear ear = await InAsync(window.Page);
        await window.Page.ClickAsync("[data-play]");
        await window.Page.WaitForTimeoutAsync(150);
        await window.Page.Keyboard.PressAsync("Escape");
        await window.Page.EvaluateAsync("() => document.activeElement.blur()");
        await window.Page.Keyboard.PressAsync("Home");
        return (window, ear);
    }

    /// <summary>By the audio's own clock: a busy page is handed blocks late, and those from before, the fade of a start among them, would be taken for what is heard now.</summary>
    public Task BeginAsync() => _page.EvaluateAsync("() => { window.ear.blocks.length = 0; window.ear.from = window.ear.context.currentTime * window.ear.rate; }");

    /// <summary>What was heard since <see cref="BeginAsync"/>: mono samples without a hole, the rate, and the clock's second of the first.</summary>
    public async Task<Heard> TakeAsync()
    {
        JsonElement? taken = await _page.EvaluateAsync("""
            () => {
              const blocks = window.ear.blocks.filter(([frame]) => frame >= window.ear.from);
              if (blocks.length === 0) return { first: 0, rate: window.ear.rate, data: "" };
              const first = blocks[0][0];
              const last = blocks.at(-1);
              const all = new Float32Array(last[0] + last[1].length - first);
              for (const [frame, samples] of blocks) all.set(samples, frame - first);
              const bytes = new Uint8Array(all.buffer);
              let text = "";
              for (let i = 0; i < bytes.length; i += 32768) text += String.fromCharCode(...bytes.subarray(i, i + 32768));
              return { first: first / window.ear.rate, rate: window.ear.rate, data: btoa(text) };
            }
            """);
        byte[] bytes = Convert.FromBase64String(taken!.Value.GetProperty("data").GetString()!);
        float[] samples = new float[bytes.Length / 4];
        Buffer.BlockCopy(bytes, 0, samples, 0, bytes.Length);
        return new Heard(samples, taken.Value.GetProperty("rate").GetDouble(), taken.Value.GetProperty("first").GetDouble());
    }
}

/// <param name="From">The audio clock's second of the first sample.</param>
internal sealed record Heard(float[] Samples, double Rate, double From)
{
    public float Loudest => Samples.Length == 0 ? 0 : Samples.Max(Math.Abs);

    public double Seconds => Samples.Length / Rate;

    /// <summary>Root mean square of a stretch, dB re full scale.</summary>
    public double Decibels(double from, double to)
    {
        ReadOnlySpan<float> part = Samples.AsSpan((int)(from * Rate), (int)((to - from) * Rate));
        double sum = 0;
        foreach (float sample in part)
            sum += sample * (double)sample;
        return 10 * Math.Log10(Math.Max(1e-20, sum / part.Length));
    }

    /// <summary>First sample above a level, in seconds from the first; NaN when there is none.</summary>
    public double FirstAbove(double level)
    {
        int index = Array.FindIndex(Samples, sample => Math.Abs(sample) > level);
        return index < 0 ? double.NaN : index / Rate;
    }

    /// <summary>Longest run below a level between the first and the last sample above it, seconds.</summary>
    public double LongestHole(double level)
    {
        int first = Array.FindIndex(Samples, sample => Math.Abs(sample) > level), last = Array.FindLastIndex(Samples, sample => Math.Abs(sample) > level);
        int longest = 0, run = 0;
        for (int i = first; i <= last; i++)
        {
            run = Math.Abs(Samples[i]) > level ? 0 : run + 1;
            longest = Math.Max(longest, run);
        }

        return longest / Rate;
    }

    /// <summary>The shift near a period at which a sound repeats best, and what is left of it there, dB.</summary>
    public (double Period, double Residual) BestPeriod(double near)
    {
        int first = (int)(0.02 * Rate), count = (int)(0.9 * near * Rate);
        double best = double.MaxValue, period = 0;
        double energy = 0;
        for (int i = 0; i < count; i++)
            energy += Samples[first + i] * (double)Samples[first + i];
        for (int shift = (int)((near - 0.08) * Rate); shift <= (int)((near + 0.08) * Rate); shift++)
        {
            double sum = 0;
            // Every seventh sample finds the place; all of them would take a second.
            for (int i = 0; i < count && sum < best; i += 7)
            {
                double difference = Samples[first + i] - Samples[first + i + shift];
                sum += difference * difference;
            }

            if (sum < best)
                (best, period) = (sum, shift / Rate);
        }

        return (period, 10 * Math.Log10(Math.Max(1e-12, 7 * best / energy)));
    }
}
