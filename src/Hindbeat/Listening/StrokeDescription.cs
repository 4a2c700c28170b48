namespace Hindbeat.Listening;

/// <summary>
/// What a moment sounds like: amplitude in each band in four stretches of time after it (attack, body, tail,
/// late), less what was sounding before. The stretches tell a closed hat from an open one and a beater's click
/// from a hat, which the attack alone does not.
/// </summary>
internal static class StrokeDescription
{
    /// <summary>First and last frame after the onset's own: 6–17 ms, 23–41, 46–87, 105–186.</summary>
    private static readonly (int First, int Last)[] Stretches = [(1, 3), (4, 7), (8, 15), (18, 32)];

    /// <summary>What was sounding: frames whose windows end before the attack.</summary>
    private const int BeforeFirst = -5;
    private const int BeforeLast = -3;

    public static int StretchCount => Stretches.Length;

    /// <summary>Values a description: bands within stretches.</summary>
    public static int Size => StretchCount * BandPowers.Bands;

    /// <param name="frame">The onset's frame.</param>
    /// <param name="lastFrame">The frame of the last piece struck together with it: the attack is looked for up to there.</param>
    /// <param name="next">The frame of the next moment: what comes later than that is not described.</param>
    /// <param name="amplitudes">Out: <see cref="Size"/> amplitudes, 0 or more.</param>
    /// <param name="before">Out: the power that was sounding in each band.</param>
    /// <returns>How many stretches could be described (1 to <see cref="StretchCount"/>); the rest is 0.</returns>
    public static int Describe(BandPowers powers, int frame, int lastFrame, int next, Span<float> amplitudes, Span<float> before)
    {
        Mean(powers, frame + BeforeFirst, frame + BeforeLast, before);
        amplitudes.Clear();
        int shift = lastFrame - frame;
        int described = 0;
        foreach ((int first, int last) in Stretches)
        {
            // The attack is always heard; the window of a later frame must not reach into the next stroke.
            int end = Math.Min(frame + last + (described == 0 ? shift : 0), next - 2);
            if (described > 0 && end < frame + first + ((last - first) / 2))
                break;
            Span<float> stretch = amplitudes.Slice(described * BandPowers.Bands, BandPowers.Bands);
            if (described == 0)
                Max(powers, frame + first, Math.Max(end, frame + first + 1), stretch);
            else
                Mean(powers, frame + first, end, stretch);
            for (int band = 0; band < stretch.Length; band++)
                stretch[band] = MathF.Sqrt(Math.Max(0, stretch[band] - before[band]));
            described++;
        }

        return described;
    }

    private static void Mean(BandPowers powers, int first, int last, Span<float> mean)
    {
        mean.Clear();
        int count = 0;
        for (int i = Math.Max(0, first); i <= Math.Min(powers.Frames - 1, last); i++, count++)
        {
            ReadOnlySpan<float> row = powers.At(i);
            for (int band = 0; band < mean.Length; band++)
                mean[band] += row[band];
        }

        for (int band = 0; count > 1 && band < mean.Length; band++)
            mean[band] /= count;
    }

    private static void Max(BandPowers powers, int first, int last, Span<float> max)
    {
        max.Clear();
        for (int i = Math.Max(0, first); i <= Math.Min(powers.Frames - 1, last); i++)
        {
            ReadOnlySpan<float> row = powers.At(i);
            for (int band = 0; band < max.Length; band++)
                max[band] = Math.Max(max[band], row[band]);
        }
    }
}
