using Hindbeat.Rebuilding;

namespace Hindbeat.KitMaker;

/// <summary>Plays a sound faster, and so higher.</summary>
internal static class Speed
{
    /// <summary>Reads every <paramref name="step"/>th sample, step &gt; 1, through a windowed sinc that stops what would fold back.</summary>
    public static double[] Up(short[] samples, double step)
    {
        double cutoff = 1.0 / step;
        int reach = (int)Math.Ceiling(WindowedSinc.Taps / 2 / cutoff);
        var result = new double[(int)Math.Ceiling(samples.Length / step)];
        for (int i = 0; i < result.Length; i++)
        {
            double place = i * step;
            int middle = (int)Math.Floor(place);
            double sum = 0;
            double weight = 0;
            for (int n = middle - reach + 1; n <= middle + reach; n++)
            {
                double h = WindowedSinc.Value((n - place) * cutoff);
                weight += h;
                if ((uint)n < (uint)samples.Length)
                    sum += h * samples[n];
            }

            result[i] = (float)(sum / weight);
        }

        return result;
    }
}
