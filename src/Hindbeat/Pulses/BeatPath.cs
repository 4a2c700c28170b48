using Hindbeat.Listening;

namespace Hindbeat.Pulses;

/// <summary>
/// A path of evenly spaced beats through the strokes by dynamic programming: each beat is worth what sounds at
/// it, each interval costs the square of its log deviation from the local period.
/// </summary>
/// <remarks>
/// After D. Ellis, "Beat tracking by dynamic programming", Journal of New Music Research 36(1), 2007. Where we
/// differ: the period may change along the passage, and the worth of a beat also counts what sounds half-way to its
/// neighbours, so that an off-beat stroke does not pull the path over.
/// </remarks>
internal static class BeatPath
{
    private const double FrameSeconds = 0.01;

    /// <summary>Scatter of strokes around the beat while searching, seconds.</summary>
    private const double StrokeScatter = 0.02;

    /// <summary>Ellis's tightness; he uses 100 to 400 on music whose tempo varies little.</summary>
    private const double Tightness = 250;

    /// <summary>Beat times, ascending, covering all strokes. Resolution 10 ms; refined later by the curve.</summary>
    public static double[] Find(StrokeTrain strokes, OnsetStrength? strength, LocalTempo tempo)
    {
        double start = strokes.Start - (1.2 * tempo.At(strokes.Start));
        double end = strokes.End + (1.2 * tempo.At(strokes.End));
        int frames = (int)Math.Ceiling((end - start) / FrameSeconds) + 1;
        float[] sounding = Sounding(strokes, strength, start, frames);
        float[] total = new float[frames];
        int[] previous = new int[frames];
        double[] logOf = Logs(1 + (int)Math.Ceiling(1.25 * tempo.Longest / FrameSeconds));
        for (int i = 0; i < frames; i++)
        {
            double period = tempo.At(start + (i * FrameSeconds)) / FrameSeconds;
            double half = 0.5 * period;
            double logPeriod = Math.Log(period);
            double worth = sounding[i] + (0.3 * (At(sounding, i - half) + At(sounding, i + half)));
            int latest = i - (int)Math.Round(0.8 * period);
            int earliest = i - (int)Math.Round(1.25 * period);
            double top = 0;
            previous[i] = -1;
            for (int p = Math.Max(0, earliest); p <= latest; p++)
            {
                double deviation = logOf[i - p] - logPeriod;
                double value = total[p] - (Tightness * deviation * deviation);
                if (previous[i] < 0 || value > top)
                {
                    top = value;
                    previous[i] = p;
                }
            }

            total[i] = (float)(worth + (previous[i] >= 0 ? top : 0));
        }

        int last = frames - 1;
        int lastPeriod = (int)(tempo.At(end) / FrameSeconds);
        for (int i = frames - 1; i >= Math.Max(0, frames - 1 - lastPeriod); i--)
        {
            if (total[i] > total[last])
                last = i;
        }

        List<double> beats = [];
        for (int i = last; i >= 0; i = previous[i])
            beats.Add(start + (i * FrameSeconds));
        beats.Reverse();
        while (beats[0] > strokes.Start)
            beats.Insert(0, beats[0] - tempo.At(beats[0]));
        while (beats[^1] <= strokes.End || beats.Count < 3)
            beats.Add(beats[^1] + tempo.At(beats[^1]));
        return [.. beats];
    }

    /// <summary>ln of 0, 1, ... frames.</summary>
    private static double[] Logs(int most) => [.. Enumerable.Range(0, most + 1).Select(frames => Math.Log(frames))];

    /// <summary>What sounds in each frame, scaled to unit spread: strokes as small bells, and the heard onset strength where there is one.</summary>
    private static float[] Sounding(StrokeTrain strokes, OnsetStrength? strength, double start, int frames)
    {
        float[] sounding = new float[frames];
        int reach = (int)(3 * StrokeScatter / FrameSeconds);
        for (int h = 0; h < strokes.Count; h++)
        {
            double place = (strokes.Times[h] - start) / FrameSeconds;
            int centre = (int)Math.Round(place);
            for (int i = Math.Max(0, centre - reach); i <= Math.Min(frames - 1, centre + reach); i++)
            {
                double d = (i - place) * FrameSeconds / StrokeScatter;
                sounding[i] += (float)(strokes.Weights[h] * Math.Exp(-0.5 * d * d));
            }
        }

        Normalise(sounding);
        if (strength is { Frames: > 1 })
        {
            float[] heard = new float[frames];
            for (int i = 0; i < frames; i++)
            {
                int frame = (int)Math.Round((start + (i * FrameSeconds) - strength.Start.TotalSeconds) * strength.FrameRate);
                if (frame < 0 || frame >= strength.Frames)
                    continue;
                foreach (float[] band in strength.Bands)
                    heard[i] += band[frame];
            }

            Normalise(heard);
            // The hits are the better witness; the sound helps where the listener missed strokes.
            for (int i = 0; i < frames; i++)
                sounding[i] += 0.3f * heard[i];
        }

        return sounding;
    }

    private static void Normalise(float[] values)
    {
        double sum = 0;
        double squares = 0;
        foreach (float value in values)
        {
            sum += value;
            squares += (double)value * value;
        }

        double mean = sum / values.Length;
        double spread = Math.Sqrt(Math.Max(1e-12, (squares / values.Length) - (mean * mean)));
        for (int i = 0; i < values.Length; i++)
            values[i] = (float)(values[i] / spread);
    }

    private static double At(float[] values, double place)
    {
        int i = (int)Math.Round(place);
        return i < 0 || i >= values.Length ? 0 : values[i];
    }
}
