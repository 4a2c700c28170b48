using System.Globalization;
using System.Text.Json;
using Hindbeat.Sound;
using Hindbeat.Studies;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>Microphones and electronic kits for a browser that has none, as scripts to be run in a page before its own.</summary>
internal static class FakeInputs
{
    public const double LoopMs = 37.5;

    /// <summary>What goes to the loudspeaker comes back as the microphone's sound, by a way of known length.</summary>
    public static string Loop { get; } = string.Create(CultureInfo.InvariantCulture, $$"""
        (() => {
          const connect = AudioNode.prototype.connect;
          const back = new WeakMap();
          AudioNode.prototype.connect = function (to, ...rest) {
            if (to instanceof AudioDestinationNode && this.context instanceof AudioContext) {
              const delay = back.get(this.context) ?? new DelayNode(this.context, { delayTime: {{LoopMs / 1000}}, maxDelayTime: 1 });
              back.set(this.context, delay);
              connect.call(this, delay);
            }
            return connect.call(this, to, ...rest);
          };
          const create = AudioContext.prototype.createMediaStreamSource;
          AudioContext.prototype.createMediaStreamSource = function (stream) {
            return back.get(this) ?? create.call(this, stream);
          };
        })();
        """);

    /// <summary>
    /// An electronic kit of one input whose strokes fall where the test says, in seconds of what sounds: their time stamps are exact however late the
    /// browser's timers are.
    /// </summary>
    public static string Kit(IEnumerable<double[]> notes) => $$"""
        (() => {
          const input = { name: "pads", onmidimessage: null };
          navigator.requestMIDIAccess = async () => ({ inputs: new Map([["1", input]]) });
          const notes = {{JsonSerializer.Serialize(notes)}};
          const start = AudioBufferSourceNode.prototype.start;
          AudioBufferSourceNode.prototype.start = function (when, ...rest) {
            // In the count-in: a context that has just begun does not know yet what is heard, and one look at its clock may err by
            // tens of milliseconds on a busy machine; the middle one of many does not.
            const looks = [];
            const look = setInterval(() => {
              const { contextTime, performanceTime } = this.context.getOutputTimestamp();
              if (contextTime > 0) looks.push(performanceTime - 1000 * contextTime);
            }, 15);
            setTimeout(() => {
              clearInterval(look);
              const zero = looks.sort((a, b) => a - b)[looks.length >> 1];
              for (const [time, key, velocity] of input.onmidimessage ? notes : []) {
                const stamp = zero + 1000 * (when + time);
                setTimeout(() => input.onmidimessage?.({ data: [0x99, key, velocity], timeStamp: stamp }), stamp - performance.now());
              }
            }, 800);
            return start.call(this, when, ...rest);
          };
        })();
        """;

    /// <summary>What the browser's microphone hears, over and over, from when it is opened: a second at least.</summary>
    public static void Microphone(BenchInABrowser bench, float[] samples, int rate)
    {
        float[] heard = [.. samples, .. new float[Math.Max(0, rate - samples.Length)]];
        WavFile.Write(bench.Microphone, new StereoSound(heard, heard, rate), bits: 16);
    }

    /// <summary>Plays a take and waits until it is kept; the study has no other.</summary>
    public static async Task<KeptTake> RecordAsync(BenchInABrowser bench, IPage page, Study study, float timeout)
    {
        await page.ClickAsync("[data-record]");
        ILocator said = page.Locator("[data-takes] [data-said]");
        await page.WaitForFunctionAsync("() => { const takes = document.querySelector('[data-takes]'); return takes.hasAttribute('data-running') === false && takes.querySelector('[data-said]').textContent !== ''; }", null, new PageWaitForFunctionOptions { Timeout = timeout });
        Assert.Equal("Kept.", await said.InnerTextAsync());
        await page.Locator("[data-take]").WaitForAsync();
        return Assert.Single(new TakeShelf(bench.Library).Of(study.Id));
    }
}
