namespace Hindbeat.Sound;

/// <summary>
/// Where in the waveform attacks begin: each heard onset is moved to the rise that it stands for, and sharp
/// rises that no heard onset stands for are added. What is heard is off by up to a few milliseconds,
/// which a recording at a quarter of its speed would show fourfold.
/// </summary>
/// <remarks>
/// Rises are looked for in the power of both channels' first differences (which favours the stick over
/// what rings): the power of the next 1.5 ms over that of the 3.6 ms before. Around each rise the onset is the
/// split that best parts the samples into two stretches of unlike variance, k ln s²(1..k) + (n−k) ln s²(k+1..n) least
/// (N. Maeda, Zisin 38, 1985, from memory). It knows nothing of pieces: two that start together are one attack.
/// </remarks>
internal static class AttackFinder
{
    /// <summary>Samples whose power is summed first: at 44.1 kHz 0.18 ms.</summary>
    private const int Block = 8;
    private const double AfterSeconds = 0.0015;
    private const double BeforeSeconds = 0.0036;

    /// <summary>A rise is the greatest within this much on either side.</summary>
    private const double ApartSeconds = 0.002;

    /// <summary>Rises of 6 dB may be what a heard onset stands for; nobody heard needs 10 dB and to be no softer than 45 dB under the loud ones.</summary>
    private const double LeastRise = 4;
    private const double LeastUnheardRise = 10;
    private const double LeastUnheardPower = 3e-5;

    /// <summary>Of loud attacks one in ten is louder than what "loud" means here.</summary>
    private const double LoudQuantile = 0.9;

    /// <summary>An onset that another heard one is nearer to must lie this near to a rise to share it.</summary>
    private const double SharedSeconds = 0.0015;
    private const double FurthestSeconds = 0.005;

    /// <summary>What is heard is late where it is off: a rise this much later is another one's.</summary>
    private const double FurthestAfterSeconds = 0.002;

    private const double PickBackSeconds = 0.003;
    private const double PickOnSeconds = 0.001;
    private const int LeastStretch = 6;

    /// <summary>A foot lies at most this long before the split (in a room's microphones an attack comes up slowly), this far under the peak of these milliseconds.</summary>
    private const double FootSeconds = 0.003;
    private const double PeakSeconds = 0.010;
    private const double FootShare = 1e-4;

    /// <summary>Over the greatest power of the stretch before; so quiet for so long ends the foot.</summary>
    private const double OverEarlier = 4;
    private const double QuietSeconds = 0.0004;
    private const double SlowestSwingSeconds = 0.015;


    /// <summary>
    /// A heard onset without a rise of its own this near to another's is taken for the same attack: heard times of two pieces
    /// struck together differ by this much, and an attack torn in two is worse than a short lay-back not drawn out.
    /// </summary>
    private const double SameSeconds = 0.002;

    /// <summary>Two rises are not told apart within this.</summary>
    private const double SameRiseSeconds = 0.0005;

    /// <summary>Rises that nobody heard count only this far from all others: a room answers an attack with rises of its own.</summary>
    private const double AloneSeconds = 0.030;

    /// <param name="heard">Onsets in seconds from the sound's start, ascending; those outside are ignored.</param>
    /// <returns>Seconds, ascending.</returns>
    public static double[] Find(StereoSound sound, IReadOnlyList<double> heard)
    {
        ArgumentNullException.ThrowIfNull(sound);
        ArgumentNullException.ThrowIfNull(heard);
        int rate = sound.SampleRate;
        double[] inside = [.. heard.Where(time => time >= 0 && time * rate < sound.Left.Length).Order()];
        List<Rise> rises = Rises(sound);
        double loud = rises.Count == 0 ? 0 : rises.Select(rise => rise.Power).Order().ElementAt((int)(LoudQuantile * (rises.Count - 1)));
        var attacks = new List<double>();
        var withoutRise = new List<double>();
        foreach (double time in inside)
        {
            int nearest = Nearest(rises, time);
            double away = nearest < 0 || rises[nearest].Time - time > FurthestAfterSeconds ? double.PositiveInfinity : Math.Abs(rises[nearest].Time - time);
            if (away <= SharedSeconds || (away <= FurthestSeconds && IsNearest(inside, time, rises[nearest].Time)))
                Add(attacks, rises[nearest].Time, SameRiseSeconds);
            else
                withoutRise.Add(time);
        }

        AddSecondRises(attacks, rises, inside);
        foreach (double time in withoutRise)
            Add(attacks, time, SameSeconds);
        foreach (Rise rise in rises)
        {
            if (rise.Ratio >= LeastUnheardRise && rise.Power >= LeastUnheardPower * loud)
                Add(attacks, rise.Time, AloneSeconds);
        }

        return [.. attacks];
    }

    /// <summary>
    /// Two pieces heard at one moment may have risen a few milliseconds apart: as many rises count as strokes were heard, the
    /// greatest first.
    /// </summary>
    private static void AddSecondRises(List<double> attacks, List<Rise> rises, double[] heard)
    {
        for (int i = 0; i < heard.Length;)
        {
            int until = i + 1;
            while (until < heard.Length && heard[until] - heard[until - 1] <= FurthestSeconds)
                until++;
            double from = heard[i] - FurthestSeconds;
            double to = heard[until - 1] + FurthestSeconds;
            int missing = until - i - attacks.Count(time => time >= from && time <= to);
            foreach (Rise rise in rises.Where(rise => rise.Time >= from && rise.Time <= to && !attacks.Contains(rise.Time)).OrderByDescending(rise => rise.Ratio).Take(Math.Max(0, missing)).ToArray())
                Add(attacks, rise.Time, SameRiseSeconds);
            i = until;
        }
    }

    /// <summary>Puts a time in its place unless another lies too near.</summary>
    private static void Add(List<double> attacks, double time, double apart)
    {
        int at = attacks.BinarySearch(time);
        at = at < 0 ? ~at : at;
        if ((at == attacks.Count || attacks[at] - time >= apart) && (at == 0 || time - attacks[at - 1] >= apart))
            attacks.Insert(at, time);
    }

    /// <param name="Time">Seconds.</param>
    /// <param name="Ratio">Power after over power before.</param>
    /// <param name="Power">Power after.</param>
    private readonly record struct Rise(double Time, float Ratio, float Power);

    private static List<Rise> Rises(StereoSound sound)
    {
        int rate = sound.SampleRate;
        double[] sums = BlockSums(sound);
        int blocks = sums.Length - 1;
        int after = Math.Max(1, (int)(AfterSeconds * rate / Block));
        int before = Math.Max(1, (int)(BeforeSeconds * rate / Block));
        int apart = Math.Max(1, (int)(ApartSeconds * rate / Block));
        // Rounding noise of 16 bits: under that nothing rises.
        const double floor = 1e-9;
        var ratios = new float[blocks];
        for (int b = 0; b + after <= blocks; b++)
        {
            int from = Math.Max(0, b - before);
            double earlier = b == 0 ? 0 : (sums[b] - sums[from]) / (b - from);
            ratios[b] = (float)(((sums[b + after] - sums[b]) / after + floor) / (earlier + floor));
        }

        var rises = new List<Rise>();
        for (int b = 0; b < blocks; b++)
        {
            if (ratios[b] < LeastRise || !IsGreatest(ratios, b, apart))
                continue;
            double time = (double)Pick(sound, b * Block, rate) / rate;
            if (rises.Count == 0 || time > rises[^1].Time)
                rises.Add(new Rise(time, ratios[b], (float)((sums[b + after] - sums[b]) / after)));
        }

        return rises;
    }

    private static bool IsGreatest(float[] ratios, int at, int apart)
    {
        for (int i = Math.Max(0, at - apart); i <= Math.Min(ratios.Length - 1, at + apart); i++)
        {
            if (ratios[i] > ratios[at] || (ratios[i] == ratios[at] && i < at))
                return false;
        }

        return true;
    }

    /// <summary>Running sums of the differences' power, a value a block and one before all.</summary>
    private static double[] BlockSums(StereoSound sound)
    {
        int blocks = sound.Left.Length / Block;
        var sums = new double[blocks + 1];
        for (int b = 0; b < blocks; b++)
        {
            double sum = 0;
            for (int i = b * Block; i < (b + 1) * Block; i++)
                sum += Power(sound, i);
            sums[b + 1] = sums[b] + (sum / Block);
        }

        return sums;
    }

    /// <summary>Of both channels' samples, or of their differences.</summary>
    private static double Power(StereoSound sound, int i, bool isRaw = false)
    {
        if (i < 1 || i >= sound.Left.Length)
            return 0;
        double left = sound.Left[i] - (isRaw ? 0 : sound.Left[i - 1]);
        double right = sound.Right[i] - (isRaw ? 0 : sound.Right[i - 1]);
        return (left * left) + (right * right);
    }

    /// <summary>The split, then back to the foot of the rise.</summary>
    private static int Pick(StereoSound sound, int around, int rate)
    {
        int from = Math.Max(1, around - (int)(PickBackSeconds * rate));
        int split = Split(sound, from, around + (int)(PickOnSeconds * rate));
        int furthest = Math.Max(1, split - (int)(FootSeconds * rate));
        return Math.Min(Foot(sound, split, furthest, rate, isRaw: false), Foot(sound, split, furthest, rate, isRaw: true));
    }

    private static int Split(StereoSound sound, int from, int to)
    {
        int length = to - from;
        var sums = new double[length + 1];
        for (int i = 0; i < length; i++)
            sums[i + 1] = sums[i] + Power(sound, from + i, isRaw: false);
        double floor = (sums[length] / length * 1e-4) + 1e-12;
        int best = LeastStretch;
        double least = double.PositiveInfinity;
        for (int k = LeastStretch; k <= length - LeastStretch; k++)
        {
            double cost = (k * Math.Log((sums[k] / k) + floor)) + ((length - k) * Math.Log(((sums[length] - sums[k]) / (length - k)) + floor));
            if (cost < least)
                (least, best) = (cost, k);
        }

        return from + best;
    }

    /// <summary>
    /// How far back from the split the sound already stands above what was sounding: back while in each
    /// fraction of a millisecond a sample stands over the greatest before and over −40 dB of the attack's peak.
    /// </summary>
    private static int Foot(StereoSound sound, int split, int furthest, int rate, bool isRaw)
    {
        double peak = 0;
        for (int i = split; i < split + (int)(PeakSeconds * rate); i++)
            peak = Math.Max(peak, Power(sound, i, isRaw));
        double earlier = 0;
        // A low drum swings once in up to 15 ms: its samples in less than that say nothing of its height.
        int from = furthest - (int)((isRaw ? SlowestSwingSeconds : BeforeSeconds) * rate);
        for (int i = from; i < furthest; i++)
            earlier = Math.Max(earlier, Power(sound, i, isRaw));
        double threshold = Math.Max(peak * FootShare, earlier * OverEarlier);
        int quiet = Math.Max(2, (int)(QuietSeconds * rate));
        int foot = split;
        for (int i = split; i >= furthest && foot - i <= quiet; i--)
        {
            if (Power(sound, i, isRaw) > threshold)
                foot = i;
        }

        return foot;
    }

    private static int Nearest(List<Rise> rises, double time)
    {
        if (rises.Count == 0)
            return -1;
        int low = 0;
        int high = rises.Count - 1;
        while (low < high)
        {
            int middle = (low + high) / 2;
            if (rises[middle].Time < time)
                low = middle + 1;
            else
                high = middle;
        }

        return low > 0 && time - rises[low - 1].Time < rises[low].Time - time ? low - 1 : low;
    }

    private static bool IsNearest(double[] heard, double time, double rise)
    {
        double away = Math.Abs(time - rise);
        int at = Array.BinarySearch(heard, time);
        for (int i = at; i >= 0 && time - heard[i] <= 2 * FurthestSeconds; i--)
        {
            if (Math.Abs(heard[i] - rise) < away)
                return false;
        }

        for (int i = at; i < heard.Length && heard[i] - time <= 2 * FurthestSeconds; i++)
        {
            if (Math.Abs(heard[i] - rise) < away)
                return false;
        }

        return true;
    }
}
