using Hindbeat.Units;

namespace Hindbeat.Pulses;

/// <summary>
/// The beats as a tempo curve through strokes whose places are known. What belongs to a voice at a place of the beat
/// (lay-back, swing) is taken out as a constant first, and strokes far off count little. A passage that keeps one tempo gets a straight
/// line (<see cref="SteadyLine"/>); any other a smooth curve or a line with bends, whichever generalised cross-validation prefers,
/// never finer than a wave of eight beats: below that lies feel, above it drift
/// (two processes split near 8 beats: Sogorski, Geisel, Priesemann, PLoS ONE 13(1):e0186361, 2018).
/// </summary>
/// <remarks>
/// Generalised cross-validation: Craven and Wahba, Numerische Mathematik 31, 1979. Where we differ: degrees of freedom
/// count 1.4 times, as Kim and Gu (J. R. Statist. Soc. B 66, 2004) advise against undersmoothing (stated from memory).
/// </remarks>
internal sealed class TempoCurve
{
    /// <summary>Wave lengths, in beats, below which tempo changes are flattened. Longer ones than the last are a line in all but name, and its matrix is singular in double precision.</summary>
    private static readonly double[] Waves = [8, 12, 16, 24, 32, 48, 64, 96, 128, 192, 256, 512];

    private const double DegreesCount = 1.4;

    /// <summary>What a bend uses: its place and its size.</summary>
    private const double DegreesOfBend = 3;

    /// <summary>Huber's bound in robust scatters.</summary>
    private const double HuberBound = 1.5;

    /// <summary>Half of the 6 ms that the ear finds in an even sequence (Friberg and Sundberg, JASA 98(5), 1995), seconds.</summary>
    private const double SameToTheEar = 0.003;

    private readonly double[] _places;
    private readonly double[] _times;
    private readonly double[] _weights;
    private readonly int _beats;
    private readonly double _perBeat;

    private TempoCurve(double[] places, double[] times, double[] weights, int beats, double perBeat) =>
        (_places, _times, _weights, _beats, _perBeat) = (places, times, weights, beats, perBeat);

    /// <param name="times">Seconds.</param>
    /// <param name="places">Written place of each stroke, beats from the first.</param>
    /// <param name="classes">Strokes of one class (voice and place of the beat) share an offset; −1 leaves the stroke out.</param>
    /// <param name="isReference">Whether a class is the timekeeper's on the beat, which the curve runs through.</param>
    /// <param name="statedBeat">Seconds a beat as a person has stated it; null = not stated.</param>
    /// <returns>Beat times in seconds, and whether they are one steady tempo.</returns>
    public static (double[] Beats, bool IsSteady) Fit(
        double[] times, Fraction[] places, double[] strokeWeights, int[] classes, bool[] isReference, int beats, TempoShape shape = TempoShape.Found, double? statedBeat = null)
    {
        int n = times.Length;
        double[] place = [.. places.Select(p => p.ToDouble())];
        double[] target = [.. times];
        double[] weights = [.. strokeWeights.Select((w, i) => classes[i] < 0 ? 0 : w)];
        double[] residuals = new double[n];
        double[] offsets = new double[isReference.Length];
        double perBeat = Math.Max(0.1, weights.Sum() / beats);
        (double[] Beats, bool IsSteady) curve = new TempoCurve(place, target, weights, beats, perBeat).Choose(shape, statedBeat);
        for (int round = 0; round < 5; round++)
        {
            Offsets(times, place, weights, classes, isReference, curve.Beats, offsets);
            for (int i = 0; i < n; i++)
            {
                target[i] = times[i] - (classes[i] < 0 ? 0 : offsets[classes[i]]);
                residuals[i] = Math.Abs(target[i] - BeatTimes.At(curve.Beats, place[i]));
            }

            double scatter = Math.Max(0.001, 1.4826 * Median(residuals));
            for (int i = 0; i < n; i++)
                weights[i] = classes[i] < 0 ? 0 : strokeWeights[i] * Math.Min(1, HuberBound * scatter / Math.Max(1e-9, residuals[i]));
            curve = new TempoCurve(place, target, weights, beats, perBeat).Choose(shape, statedBeat);
        }

        return curve;
    }

    private (double[] Beats, bool IsSteady) Choose(TempoShape shape, double? statedBeat)
    {
        SteadyLine line = SteadyLine.Fit(_places, _times, _weights, _beats);
        if (shape == TempoShape.Steady || (shape == TempoShape.Found && line.IsKept(_places, _times, _weights, _beats, _perBeat)))
            return (line.AtBelievedTempo(statedBeat, _places, _weights).Beats(_beats), true);
        if (shape == TempoShape.Quadratic)
            return (Parabola(), false);
        (double[] smooth, double smoothScore) = Smoothest();
        (double[] bent, double bentScore) = Bent(smooth);
        return (bentScore < smoothScore && Rises(bent) ? bent : smooth, false);
    }

    private (double[] Beats, double Score) Smoothest()
    {
        SmoothCurve? best = null;
        double least = double.MaxValue;
        foreach (double wave in Waves)
        {
            SmoothCurve curve = SmoothCurve.Fit(_places, _times, _weights, _beats, SmoothCurve.Lambda(wave, _perBeat));
            double score = Score(curve.ResidualSquares, curve.DegreesOfFreedom);
            // The smoother one on a tie.
            if (best is null || score <= least)
                (least, best) = (score, curve);
        }

        // The smoothest curve that is the same to the ear: cross-validation still takes some wander for tempo.
        for (int i = Waves.Length - 1; i >= 0; i--)
        {
            SmoothCurve curve = SmoothCurve.Fit(_places, _times, _weights, _beats, SmoothCurve.Lambda(Waves[i], _perBeat));
            if (Distance(curve.Beats, best!.Beats) <= SameToTheEar)
                return (curve.Beats, least);
        }

        return (best!.Beats, least);
    }

    /// <param name="about">Beat times near which bends are looked for.</param>
    private (double[] Beats, double Score) Bent(double[] about)
    {
        double[] sumPlace = new double[_beats];
        double[] sumTime = new double[_beats];
        double[] weight = new double[_beats];
        for (int i = 0; i < _places.Length; i++)
        {
            int k = Math.Clamp((int)_places[i], 0, _beats - 1);
            sumPlace[k] += _weights[i] * _places[i];
            sumTime[k] += _weights[i] * _times[i];
            weight[k] += _weights[i];
        }

        int[] struck = [.. Enumerable.Range(0, _beats).Where(k => weight[k] > 0)];
        List<(double[] Beats, double Score)> curves = [];
        foreach ((double[] curve, int bends) in BentCurve.Fit([.. struck.Select(k => sumPlace[k] / weight[k])], [.. struck.Select(k => sumTime[k] / weight[k])], [.. struck.Select(k => weight[k])], _beats, about))
        {
            double degrees = 2 + (bends * DegreesOfBend);
            double squares = 0;
            for (int i = 0; i < _places.Length; i++)
            {
                double residual = _times[i] - BeatTimes.At(curve, _places[i]);
                squares += _weights[i] * residual * residual;
            }

            curves.Add((curve, Score(squares, degrees)));
        }

        if (curves.Count == 0)
            return ([], double.MaxValue);
        // Counts of bends that explain the strokes nearly as well are averaged, by likelihood: none of them has its bends quite right.
        double least = curves.Min(curve => curve.Score);
        double all = 0;
        double[] beats = new double[_beats];
        foreach ((double[] curve, double score) in curves)
        {
            double share = Math.Pow(least / score, _weights.Sum() / 2);
            all += share;
            for (int k = 0; k < _beats; k++)
                beats[k] += share * curve[k];
        }

        return ([.. beats.Select(time => time / all)], least);
    }

    private double[] Parabola()
    {
        // About the middle, where place, place² and place³ are nearly orthogonal.
        double middle = 0.5 * (_beats - 1);
        double[,] sums = new double[3, 4];
        for (int i = 0; i < _places.Length; i++)
        {
            double u = (_places[i] - middle) / middle;
            double[] powers = [1, u, u * u, _times[i]];
            for (int r = 0; r < 3; r++)
            {
                for (int c = 0; c < 4; c++)
                    sums[r, c] += _weights[i] * powers[r] * powers[c];
            }
        }

        for (int pivot = 0; pivot < 3; pivot++)
        {
            for (int r = 0; r < 3; r++)
            {
                double factor = r == pivot ? 0 : sums[r, pivot] / (sums[pivot, pivot] + 1e-12);
                for (int c = 0; c < 4; c++)
                    sums[r, c] -= factor * sums[pivot, c];
            }
        }

        double Coefficient(int r) => sums[r, 3] / (sums[r, r] + 1e-12);
        return [.. Enumerable.Range(0, _beats).Select(k => (k - middle) / middle).Select(u => Coefficient(0) + (Coefficient(1) * u) + (Coefficient(2) * u * u))];
    }

    private double Score(double residualSquares, double degrees)
    {
        double n = _weights.Sum();
        double free = n - (DegreesCount * degrees);
        return free <= 0 ? double.MaxValue : n * residualSquares / (free * free);
    }

    private static bool Rises(double[] beats)
    {
        for (int k = 1; k < beats.Length; k++)
        {
            if (beats[k] <= beats[k - 1])
                return false;
        }

        return true;
    }

    private static double Distance(double[] a, double[] b)
    {
        double sum = 0;
        for (int k = 0; k < a.Length; k++)
            sum += (a[k] - b[k]) * (a[k] - b[k]);
        return Math.Sqrt(sum / a.Length);
    }

    private static void Offsets(double[] times, double[] places, double[] weights, int[] classes, bool[] isReference, double[] curve, double[] offsets)
    {
        double[] sum = new double[offsets.Length];
        double[] weight = new double[offsets.Length];
        for (int i = 0; i < times.Length; i++)
        {
            if (classes[i] < 0)
                continue;
            sum[classes[i]] += weights[i] * (times[i] - BeatTimes.At(curve, places[i]));
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
