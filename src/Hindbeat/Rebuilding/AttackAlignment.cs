namespace Hindbeat.Rebuilding;

/// <summary>
/// Lines strokes of one piece up by their attacks: heard onsets scatter by a millisecond or so, and a stroke
/// that takes another's place must not carry the difference along.
/// </summary>
/// <remarks>
/// The rise of each stroke's envelope is correlated with the mean rise of all, which is made again from the
/// lined-up ones. The median shift is taken off: together the piece stays where it was heard.
/// </remarks>
internal static class AttackAlignment
{
    private const double FurthestSeconds = 0.0025;
    private const double BeforeSeconds = 0.004;
    private const double AfterSeconds = 0.010;
    private const double SmoothSeconds = 0.001;
    private const int Rounds = 3;

    /// <param name="at">Heard onsets in samples.</param>
    /// <returns>What to add to each, in samples.</returns>
    public static double[] Shifts(float[] sound, IReadOnlyList<double> at, int sampleRate)
    {
        var shifts = new double[at.Count];
        if (at.Count < 2)
            return shifts;
        int far = (int)(FurthestSeconds * sampleRate);
        int before = (int)(BeforeSeconds * sampleRate);
        int length = before + (int)(AfterSeconds * sampleRate);
        float[][] rises = [.. at.Select(onset => Rise(sound, (int)Math.Floor(onset) - before - far, length + (2 * far), sampleRate))];
        for (int round = 0; round < Rounds; round++)
        {
            var mean = new float[length];
            for (int s = 0; s < rises.Length; s++)
            {
                for (int i = 0; i < length; i++)
                    mean[i] += rises[s][i + far + (int)shifts[s]];
            }

            for (int s = 0; s < rises.Length; s++)
                shifts[s] = BestLag(rises[s], mean, far);
        }

        double[] sorted = [.. shifts.Order()];
        double median = sorted[sorted.Length / 2];
        return [.. shifts.Select(shift => Math.Clamp(shift - median, -far, far))];
    }

    private static double BestLag(float[] rise, float[] mean, int far)
    {
        double best = double.NegativeInfinity;
        int lag = 0;
        for (int candidate = -far; candidate <= far; candidate++)
        {
            double sum = System.Numerics.Tensors.TensorPrimitives.Dot<float>(rise.AsSpan(far + candidate, mean.Length), mean);
            if (sum > best)
                (best, lag) = (sum, candidate);
        }

        return lag;
    }

    /// <summary>Growth of the smoothed amplitude from sample to sample, falls left out, scaled to one.</summary>
    private static float[] Rise(float[] sound, int first, int length, int sampleRate)
    {
        int smooth = Math.Max(1, (int)(SmoothSeconds * sampleRate));
        var envelope = new double[length + 1];
        for (int i = 0; i <= length; i++)
        {
            for (int k = 0; k < smooth; k++)
            {
                int place = first + i - k;
                if (place >= 0 && place < sound.Length)
                    envelope[i] += Math.Abs(sound[place]);
            }
        }

        var rise = new float[length];
        double sum = 0;
        for (int i = 0; i < length; i++)
        {
            rise[i] = (float)Math.Max(0, envelope[i + 1] - envelope[i]);
            sum += rise[i] * rise[i];
        }

        float scale = sum > 0 ? (float)(1 / Math.Sqrt(sum)) : 0;
        for (int i = 0; i < length; i++)
            rise[i] *= scale;
        return rise;
    }
}
