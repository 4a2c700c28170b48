using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Accuracy;

/// <summary>A slowed recording against scaled truth: when each attack comes, and whether it rises as it did.</summary>
/// <remarks>
/// A rendered passage with known onsets is slowed by strokes as a study hears them (so with its errors).
/// The moment of an attack is where it correlates best with the original's first 20 ms, ±10 ms around the scaled
/// truth; its rise is the time from 10 to 90 % of the largest amplitude within 30 ms, on a 1 ms envelope.
/// </remarks>
internal static class SlowedReport
{
    private const int Rate = MonoSound.AnalysisRate;

    public static void Print(TextWriter output)
    {
        output.WriteLine("## Slowed recording: attacks against scaled truth");
        output.WriteLine();
        InventedPassage passage = InventedPassage.Make(3);
        StereoSound sound = Renderer.Render(
            RebuildPlan.Make(passage.Performance, FeelAnalysis.Measure(passage.Performance), Dials.AsPlayed), HouseKit.Load(), Rate, new RenderOptions { From = AudioTime.Zero });
        string folder = Directory.CreateTempSubdirectory("hindbeat-slow-").FullName;
        Performance heard;
        try
        {
            string wav = Path.Combine(folder, "recording.wav");
            WavFile.Write(wav, sound);
            heard = StudyMaker.Make(wav, new StudyOptions()).Performance;
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }

        var table = new Table("speed %", "attacks", "largest error ms", "95 % within ms", "rise changed by, median %", "95 % within %");
        double[] truth = [.. passage.Performance.Hits.Select(hit => hit.Time.TotalSeconds)];
        foreach (double speed in new[] { 0.25, 0.5, 0.75, 0.9, 1.25, 1.5 })
        {
            StereoSound slow = SlowedOriginal.Make(sound, AudioTime.Zero, heard, speed);
            var errors = new List<double>();
            var rises = new List<double>();
            foreach (double time in truth)
            {
                int from = (int)Math.Round(time * Rate);
                int to = (int)Math.Round(time / speed * Rate);
                int lag = BestLag(sound.Left, from, slow.Left, to);
                errors.Add(Math.Abs(lag) * 1000.0 / Rate);
                double before = Rise(sound.Left, from);
                double after = Rise(slow.Left, to + lag);
                rises.Add(100 * Math.Abs(after - before) / before);
            }

            table.Add(
                (100 * speed).ToString("0", CultureInfo.InvariantCulture), errors.Count.ToString(CultureInfo.InvariantCulture),
                Two(errors.Max()), Two(Statistics.Quantile(errors, 0.95)), Two(Statistics.Median(rises)), Two(Statistics.Quantile(rises, 0.95)));
        }

        output.WriteLine(table);
    }

    private static string Two(double value) => value.ToString("0.00", CultureInfo.InvariantCulture);

    private static int BestLag(float[] a, int from, float[] b, int to)
    {
        const int far = Rate / 100;
        const int length = Rate / 50;
        int best = 0;
        double most = double.NegativeInfinity;
        for (int lag = -far; lag <= far; lag++)
        {
            double ab = 0, bb = 1e-9;
            for (int i = 0; i < length; i++)
            {
                float y = At(b, to + lag + i);
                ab += At(a, from + i) * y;
                bb += y * y;
            }

            if (ab / Math.Sqrt(bb) > most)
                (most, best) = (ab / Math.Sqrt(bb), lag);
        }

        return best;
    }

    /// <summary>Seconds from 10 to 90 % of the envelope's largest value, counted back from it.</summary>
    private static double Rise(float[] sound, int onset)
    {
        const int smooth = Rate / 1000;
        var envelope = new double[(int)(0.03 * Rate)];
        for (int i = 0; i < envelope.Length; i++)
        {
            for (int k = 0; k < smooth; k++)
                envelope[i] += Math.Abs(At(sound, onset + i - k));
        }

        int top = Array.IndexOf(envelope, envelope.Max());
        int high = top;
        while (high > 0 && envelope[high] > 0.9 * envelope[top])
            high--;
        int low = high;
        while (low > 0 && envelope[low] > 0.1 * envelope[top])
            low--;
        return (double)(high - low + 1) / Rate;
    }

    private static float At(float[] sound, int place) => place >= 0 && place < sound.Length ? sound[place] : 0;
}
