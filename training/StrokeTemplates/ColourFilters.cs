namespace Hindbeat.StrokeTemplates;

/// <summary>Random equaliser, room, drive and noise: what stands between a kit and its recording.</summary>
internal sealed class ColourFilters(Random random)
{
    private const int Rate = 44100;

    /// <summary>A draw from the normal distribution (Box and Muller).</summary>
    public static double Normal(Random random) => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());

    public void Apply(float[] samples)
    {
        Shelf(samples, 80 + (120 * random.NextDouble()), Normal(random) * 4, high: false);
        Shelf(samples, 3000 + (6000 * random.NextDouble()), Normal(random) * 4, high: true);
        for (int k = 0; k < 3; k++)
            Peak(samples, 60 * Math.Pow(2, random.NextDouble() * 7.5), 0.5 + random.NextDouble(), Normal(random) * 4);
        if (random.NextDouble() < 0.5)
            Room(samples);
        float peak = Math.Max(1e-6f, samples.Max(MathF.Abs));
        float drive = (float)(random.NextDouble() < 0.4 ? 1 + (3 * random.NextDouble()) : 0.3);
        float noise = (float)Math.Pow(10, (-90 + ((random.NextDouble() < 0.15 ? 65 : 35) * random.NextDouble())) / 20);
        for (int i = 0; i < samples.Length; i++)
            samples[i] = (MathF.Tanh(samples[i] / peak * drive) / drive) + (noise * ((2 * random.NextSingle()) - 1));
    }

    /// <summary>Sixty echoes that die away exponentially.</summary>
    private void Room(float[] samples)
    {
        const int Echoes = 60;
        int length = (int)(Rate * (0.15 + (0.4 * random.NextDouble())));
        double wet = 0.4 * random.NextDouble();
        float[] sum = new float[samples.Length];
        for (int k = 0; k < Echoes; k++)
        {
            int delay = 300 + random.Next(length);
            float gain = (float)(wet * Normal(random) * Math.Exp(-5.0 * delay / length) / Math.Sqrt(Echoes) * 3);
            for (int i = delay; i < sum.Length; i++)
                sum[i] += gain * samples[i - delay];
        }

        for (int i = 0; i < sum.Length; i++)
            samples[i] += sum[i];
    }

    // Both after R. Bristow-Johnson, Cookbook formulae for audio EQ biquad filter coefficients (from memory).
    private static void Peak(float[] samples, double hertz, double q, double decibels)
    {
        double a = Math.Pow(10, decibels / 40);
        (double sin, double cos) = Math.SinCos(2 * Math.PI * hertz / Rate);
        double alpha = sin / (2 * q);
        double a0 = 1 + (alpha / a);
        Run(samples, (1 + (alpha * a)) / a0, -2 * cos / a0, (1 - (alpha * a)) / a0, -2 * cos / a0, (1 - (alpha / a)) / a0);
    }

    private static void Shelf(float[] samples, double hertz, double decibels, bool high)
    {
        double a = Math.Pow(10, decibels / 40);
        (double sin, double cos) = Math.SinCos(2 * Math.PI * hertz / Rate);
        double slope = 2 * Math.Sqrt(a) * sin / Math.Sqrt(2);
        int h = high ? 1 : -1;
        double a0 = a + 1 - (h * (a - 1) * cos) + slope;
        Run(
            samples, a * (a + 1 + (h * (a - 1) * cos) + slope) / a0, -h * 2 * a * (a - 1 + (h * (a + 1) * cos)) / a0, a * (a + 1 + (h * (a - 1) * cos) - slope) / a0,
            h * 2 * (a - 1 - (h * (a + 1) * cos)) / a0, (a + 1 - (h * (a - 1) * cos) - slope) / a0);
    }

    private static void Run(float[] samples, double b0, double b1, double b2, double a1, double a2)
    {
        double s1 = 0;
        double s2 = 0;
        for (int i = 0; i < samples.Length; i++)
        {
            double x = samples[i];
            double y = (b0 * x) + s1;
            s1 = (b1 * x) - (a1 * y) + s2;
            s2 = (b2 * x) - (a2 * y);
            samples[i] = (float)y;
        }
    }
}
