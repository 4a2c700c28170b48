using System.Globalization;
using System.Text.Json;
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
            // In the count-in: a context that has just begun does not know yet what is heard.
            setTimeout(() => {
              const { contextTime, performanceTime } = this.context.getOutputTimestamp();
              for (const [time, key, velocity] of input.onmidimessage ? notes : []) {
                const stamp = performanceTime + 1000 * (when + time - contextTime);
                setTimeout(() => input.onmidimessage?.({ data: [0x99, key, velocity], timeStamp: stamp }), stamp - performance.now());
              }
            }, 500);
            return start.call(this, when, ...rest);
          };
        })();
        """;

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
