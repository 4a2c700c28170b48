using Hindbeat.Sound;
using Hindbeat.Studies;
using Microsoft.Playwright;

namespace Hindbeat.Bench.Tests;

/// <summary>
/// How far the playhead runs behind what is heard: the sound that came at one second of the audio clock, laid along the recording at
/// the playhead's place.
/// </summary>
internal static class PlayheadLag
{
    /// <param name="original">The recording, at <see cref="MonoSound.AnalysisRate"/>.</param>
    /// <returns>Milliseconds, positive = the playhead is late.</returns>
    public static async Task<double> MeasureAsync(IPage page, Ear ear, Study study, float[] original)
    {
        double[] place = await page.EvaluateAsync<double[]>("""
            () => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => {
              // In the same frame as the page and after it: what is read is what is drawn now.
              const c = window.ear.context;
              done([c.currentTime - (c.outputLatency || c.baseLatency || 0), Number(document.querySelector("[data-axis] [data-playhead]").style.transform.match(/[\d.]+/)[0]) / document.querySelector("[data-timeline]").clientWidth]);
            })))
            """);
        await page.WaitForTimeoutAsync(300);
        Heard heard = await ear.TakeAsync();
        double shown = study.From.TotalSeconds + (place[1] * (study.To - study.From).Value);
        // Some seconds around the place are enough of the recording.
        const double around = 2;
        int cut = Math.Max(0, (int)((shown - around) * MonoSound.AnalysisRate)), until = Math.Min(original.Length, (int)((shown + around) * MonoSound.AnalysisRate));
        float[] near = Resampler.Resample(original[cut..until], MonoSound.AnalysisRate, (int)heard.Rate);
        double inNear = shown - ((double)cut / MonoSound.AnalysisRate);
        // What ended when the playhead was read.
        int end = (int)((place[0] - heard.From) * heard.Rate), length = (int)(0.4 * heard.Rate);
        double best = double.MinValue, lag = 0;
        for (int d = (int)(-0.06 * heard.Rate); d <= (int)(0.06 * heard.Rate); d++)
        {
            int from = (int)(inNear * heard.Rate) - length + d;
            if (from < 0 || from + length > near.Length)
                continue;
            double dot = 0, energy = 1e-12;
            for (int i = 0; i < length; i++)
            {
                dot += heard.Samples[end - length + i] * near[from + i];
                energy += near[from + i] * near[from + i];
            }

            if (dot / Math.Sqrt(energy) > best)
                (best, lag) = (dot / Math.Sqrt(energy), d / heard.Rate);
        }

        return 1000 * lag;
    }
}
