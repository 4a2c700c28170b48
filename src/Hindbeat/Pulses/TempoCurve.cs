using Hindbeat.Units;

namespace Hindbeat.Pulses;

/// <summary>
/// The beats as a smooth curve through strokes whose places are known. What belongs to a voice at a place of the beat
/// (lay-back, swing) is taken out as a constant first, strokes far off count little, and the smoothness is chosen by
/// generalised cross-validation, never finer than a wave of eight beats: below that lies feel, above it drift
/// (two processes split near 8 beats: Sogorski, Geisel, Priesemann, PLoS ONE 13(1):e0186361, 2018).
/// </summary>
/// <remarks>
/// Generalised cross-validation: Craven and Wahba, Numerische Mathematik 31, 1979. Where we differ: degrees of freedom
/// count 1.4 times, as Kim and Gu (J. R. Statist. Soc. B 66, 2004) advise against undersmoothing (stated from memory).
/// </remarks>
internal static class TempoCurve
{
    /// <summary>Wave lengths, in beats, below which tempo changes are flattened; the last is a straight line for most passages.</summary>
    private static readonly double[] Waves = [8, 12, 16, 24, 32, 48, 64, 96, 128, 192, 256, 512, 1024, 100_000];

    private const double DegreesCount = 1.4;

    /// <summary>Huber's bound in robust scatters.</summary>
    private const double HuberBound = 1.5;

    /// <summary>Slow wander (root mean square, seconds) that steady playing shows against a click; see Steadiest.</summary>
    private const double Wander = 0.012;

    /// <summary>Half of the 6 ms that the ear finds in an even sequence (Friberg and Sundberg, JASA 98(5), 1995), seconds.</summary>
    private const double SameToTheEar = 0.003;

    /// <param name="times">Seconds.</param>
    /// <param name="places">Written place of each stroke, beats from the first.</param>
    /// <param name="classes">Strokes of one class (voice and place of the beat) share an offset; −1 leaves the stroke out.</param>
    /// <param name="isReference">Whether a class is the timekeeper's on the beat, which the curve runs through.</param>
    /// <returns>Beat times in seconds, and each class's offset.</returns>
    public static (double[] Beats, double[] Offsets) Fit(double[] times, Fraction[] places, double[] strokeWeights, int[] classes, bool[] isReference, int beats)
    {
        int n = times.Length;
        double[] place = new double[n];
        double[] target = new double[n];
        double[] weights = new double[n];
        for (int i = 0; i < n; i++)
        {
            place[i] = places[i].ToDouble();
            weights[i] = classes[i] < 0 ? 0 : strokeWeights[i];
        }

        double[] offsets = new double[isReference.Length];
        double perBeat = Math.Max(0.1, weights.Sum() / beats);
        SmoothCurve curve = Smoothest(place, times, weights, beats, perBeat);
        for (int round = 0; round < 5; round++)
        {
            Offsets(times, place, weights, classes, isReference, curve, offsets);
            double[] residuals = new double[n];
            for (int i = 0; i < n; i++)
            {
                target[i] = times[i] - (classes[i] < 0 ? 0 : offsets[classes[i]]);
                residuals[i] = Math.Abs(target[i] - curve.At(place[i]));
            }

            double scatter = Math.Max(0.001, 1.4826 * Median(residuals));
            for (int i = 0; i < n; i++)
                weights[i] = classes[i] < 0 ? 0 : strokeWeights[i] * Math.Min(1, HuberBound * scatter / Math.Max(1e-9, residuals[i]));
            curve = Smoothest(place, target, weights, beats, perBeat);
        }

        return (curve.Beats, offsets);
    }

    private static SmoothCurve Smoothest(double[] places, double[] times, double[] weights, int beats, double perBeat)
    {
        SmoothCurve? best = null;
        double least = double.MaxValue;
        double n = weights.Sum();
        foreach (double wave in Waves)
        {
            SmoothCurve curve = SmoothCurve.Fit(places, times, weights, beats, perBeat * Math.Pow(wave / (2 * Math.PI), 4));
            double free = n - (DegreesCount * curve.DegreesOfFreedom);
            if (free <= 0)
                continue;
            double score = n * curve.ResidualSquares / (free * free);
            // The smoother one on a tie.
            if (score <= least)
            {
                least = score;
                best = curve;
            }
        }

        SmoothCurve line = SmoothCurve.Fit(places, times, weights, beats, perBeat * Math.Pow(Waves[^1] / (2 * Math.PI), 4));
        return best is null ? line : Steadiest(best, line, places, times, weights, beats, perBeat);
    }

    /// <summary>
    /// Cross-validation takes every slow wander for tempo, for neighbouring strokes wander together. A drummer with a
    /// click, or one as steady, comes back to one straight line; a free one leaves it for good (1 % faster for eight bars is
    /// 190 ms at 100 bpm). So the line is taken when it stays within <see cref="Wander"/> of the validated curve, else the smoothest
    /// curve that is the same to the ear.
    /// </summary>
    private static SmoothCurve Steadiest(SmoothCurve validated, SmoothCurve line, double[] places, double[] times, double[] weights, int beats, double perBeat)
    {
        if (Distance(line, validated) <= Wander)
            return line;
        for (int i = Waves.Length - 2; i >= 0; i--)
        {
            SmoothCurve curve = SmoothCurve.Fit(places, times, weights, beats, perBeat * Math.Pow(Waves[i] / (2 * Math.PI), 4));
            if (Distance(curve, validated) <= SameToTheEar)
                return curve;
        }

        return validated;
    }

    private static double Distance(SmoothCurve a, SmoothCurve b)
    {
        double sum = 0;
        for (int k = 0; k < a.Beats.Length; k++)
            sum += (a.Beats[k] - b.Beats[k]) * (a.Beats[k] - b.Beats[k]);
        return Math.Sqrt(sum / a.Beats.Length);
    }

    private static void Offsets(double[] times, double[] places, double[] weights, int[] classes, bool[] isReference, SmoothCurve curve, double[] offsets)
    {
        double[] sum = new double[offsets.Length];
        double[] weight = new double[offsets.Length];
        for (int i = 0; i < times.Length; i++)
        {
            if (classes[i] < 0)
                continue;
            sum[classes[i]] += weights[i] * (times[i] - curve.At(places[i]));
            weight[classes[i]] += weights[i];
        }

        double referenceSum = 0;
        double referenceWeight = 1e-9;
        for (int c = 0; c < offsets.Length; c++)
        {
            // Drawn to zero as if one stroke more had been on time: a class of one stroke must not take itself out.
            offsets[c] = sum[c] / (weight[c] + 1);
            if (isReference[c])
            {
                referenceSum += weight[c] * offsets[c];
                referenceWeight += weight[c];
            }
        }

        for (int c = 0; c < offsets.Length; c++)
            offsets[c] -= referenceSum / referenceWeight;
    }

    private static double Median(double[] values)
    {
        double[] sorted = [.. values];
        Array.Sort(sorted);
        return sorted[sorted.Length / 2];
    }
}
