namespace Hindbeat.Pulses;

/// <summary>
/// One tempo for the whole passage: the straight line of least squares through the strokes, how far its slope is known,
/// and whether the drummer kept to it.
/// </summary>
/// <remarks>
/// Why a test comes before any curve: neighbouring strokes wander together, so every curve that is fitted by the strokes alone takes a
/// steady drummer's wander for tempo. A drummer with a click, or one as steady, comes back to one line; a free one
/// leaves it for good (1 % faster for eight bars is 190 ms at 100 bpm). Bounds and factors below were chosen on the train split of the
/// Groove MIDI Dataset (331 takes of six seconds and more, played to a click).
/// </remarks>
/// <param name="Start">Seconds of beat 0.</param>
/// <param name="Beat">Seconds a beat.</param>
/// <param name="BeatError">Standard error of <paramref name="Beat"/>, seconds.</param>
internal sealed record SteadyLine(double Start, double Beat, double BeatError)
{
    /// <summary>
    /// Root mean square distance of curves of 16 and 32 beats from the line, seconds, up to which playing is steady. Of the train takes 98 % stay
    /// below 12.3 and 9.8 ms, all below 16.0 and 13.3; the bounds lie a fifth above.
    /// </summary>
    private static readonly (double Wave, double Distance)[] Wander = [(16, 0.020), (32, 0.016)];

    /// <summary>
    /// The spread of a sum of beats' deviations over that of independent ones: their autocorrelation falls from 0.5 at one beat to 0.1 at
    /// eight (medians of the train takes), which makes √(1 + 2Σρ) about 2.3.
    /// </summary>
    private const double Togetherness = 2.3;

    /// <summary>Beyond this the strokes contradict a stated or whole tempo, standard errors.</summary>
    private const double Contradiction = 3;

    /// <summary>When a whole tempo is further from the next one than this many errors, it can be told from it.</summary>
    private const double LargestTempoError = 0.25;

    /// <summary>A typed tempo is meant to two figures after the point, or is a whole number near the true one: this share of it is its own error.</summary>
    private const double TypedError = 0.0005;

    public double[] Beats(int count) => [.. Enumerable.Range(0, count).Select(k => Start + (k * Beat))];

    public double At(double place) => Start + (place * Beat);

    /// <param name="places">Beats from beat 0.</param>
    /// <param name="times">Seconds.</param>
    public static SteadyLine Fit(double[] places, double[] times, double[] weights, int beats)
    {
        (double meanPlace, double meanTime, double slope) = Slope(places, times, weights);
        double start = meanTime - (slope * meanPlace);
        double[] sum = new double[beats];
        double[] weight = new double[beats];
        for (int i = 0; i < places.Length; i++)
        {
            int k = Math.Clamp((int)places[i], 0, beats - 1);
            sum[k] += weights[i] * (times[i] - start - (slope * places[i]));
            weight[k] += weights[i];
        }

        double squares = 0;
        int struck = 0;
        for (int k = 0; k < beats; k++)
        {
            if (weight[k] <= 0)
                continue;
            squares += sum[k] / weight[k] * (sum[k] / weight[k]);
            struck++;
        }

        double scatter = Math.Sqrt(squares / Math.Max(1, struck - 2));
        return new SteadyLine(start, slope, Togetherness * scatter * Math.Sqrt(12) / Math.Pow(Math.Max(2, struck), 1.5));
    }

    /// <summary>Whether strokes keep to the line, but for the wander that steady playing shows.</summary>
    public bool IsKept(double[] places, double[] times, double[] weights, int beats, double perBeat)
    {
        foreach ((double wave, double most) in Wander)
        {
            SmoothCurve curve = SmoothCurve.Fit(places, times, weights, beats, SmoothCurve.Lambda(wave, perBeat));
            double squares = 0;
            for (int k = 0; k < beats; k++)
                squares += (curve.Beats[k] - At(k)) * (curve.Beats[k] - At(k));
            if (Math.Sqrt(squares / beats) > most)
                return false;
        }

        return true;
    }

    /// <summary>
    /// The line at a tempo that is believed rather than measured: the one a person has stated, or a whole number of
    /// bpm, as clicks are set (common practice, no source), where the strokes cannot tell it from the measured one but can from the next
    /// whole number. The line turns about the strokes' centre.
    /// </summary>
    /// <param name="stated">Seconds a beat, or null.</param>
    public SteadyLine AtBelievedTempo(double? stated, double[] places, double[] weights)
    {
        double believed;
        if (stated is { } given)
        {
            if (Math.Abs(given - Beat) > (Contradiction * BeatError) + (TypedError * given))
                return this;
            believed = given;
        }
        else
        {
            double bpm = 60 / Beat;
            double error = bpm * BeatError / Beat;
            if (error > LargestTempoError || Math.Abs(Math.Round(bpm) - bpm) > Contradiction * error)
                return this;
            believed = 60 / Math.Round(bpm);
        }

        double centre = 0;
        double all = 0;
        for (int i = 0; i < places.Length; i++)
        {
            centre += weights[i] * places[i];
            all += weights[i];
        }

        return this with { Start = At(centre / all) - (believed * centre / all), Beat = believed };
    }

    private static (double MeanPlace, double MeanTime, double Slope) Slope(double[] places, double[] times, double[] weights)
    {
        double all = 0, meanPlace = 0, meanTime = 0;
        for (int i = 0; i < places.Length; i++)
        {
            all += weights[i];
            meanPlace += weights[i] * places[i];
            meanTime += weights[i] * times[i];
        }

        meanPlace /= all;
        meanTime /= all;
        double cross = 0, square = 0;
        for (int i = 0; i < places.Length; i++)
        {
            cross += weights[i] * (places[i] - meanPlace) * (times[i] - meanTime);
            square += weights[i] * (places[i] - meanPlace) * (places[i] - meanPlace);
        }

        return (meanPlace, meanTime, cross / square);
    }
}
