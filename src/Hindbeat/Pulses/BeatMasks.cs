using System.Numerics;
using Hindbeat.Performances;

namespace Hindbeat.Pulses;

/// <summary>
/// What is struck in each beat of a reading, as bits (voice and part of the beat), and what their likeness says of the bar line: bars
/// repeat, parts of four and eight bars too, fills break them late and end before one, parts begin on one.
/// </summary>
/// <remarks>Likeness of two beats = struck in both : struck in either (Jaccard); two silent beats are alike.</remarks>
internal sealed class BeatMasks
{
    /// <summary>On the beat, before its middle, on the middle, after it.</summary>
    private const int Parts = 4;

    public static readonly string[] Names =
    [
        "alike after a beat", "alike after two beats", "alike after three beats", "alike after half a bar", "alike after a bar", "alike after two bars", "alike after three bars", "alike after four bars", "alike after eight bars",
        "breaks on one", "breaks in the first half", "breaks in the last beat", "breaks in the last beat less on one",
        "parts begin on one", "parts begin on three", "time moves to another piece on one", "time moves to another piece within the first beat",
    ];

    private readonly uint[] _bits;
    private readonly int _firstOfBar;
    private readonly int _perBar;

    private BeatMasks(uint[] bits, int firstOfBar, int perBar) => (_bits, _firstOfBar, _perBar) = (bits, firstOfBar, perBar);

    /// <param name="slots">Each stroke's slot counted from a downbeat, as <see cref="BarCounts.SlotOf"/>.</param>
    public static BeatMasks Of(StrokeTrain strokes, long[] slots, Meter meter)
    {
        long first = Math.DivRem(slots[0], BarSlots.PerBeat, out long rest) - (rest < 0 ? 1 : 0);
        int beats = (int)((slots[^1] - (first * BarSlots.PerBeat)) / BarSlots.PerBeat) + 1;
        uint[] bits = new uint[beats];
        for (int i = 0; i < slots.Length; i++)
        {
            // A crash marks a beginning; it must not make the beat it falls on look broken.
            if (strokes.VoiceOf[i] == Voice.Crash)
                continue;
            long slot = slots[i] - (first * BarSlots.PerBeat);
            int within = (int)(slot % BarSlots.PerBeat);
            int part = within == 0 ? 0 : within < BarSlots.PerBeat / 2 ? 1 : within == BarSlots.PerBeat / 2 ? 2 : 3;
            bits[slot / BarSlots.PerBeat] |= 1u << (((int)strokes.VoiceOf[i] * Parts) + part);
        }

        int perBar = meter.BeatsPerBar;
        int firstOfBar = (int)(((first % perBar) + perBar) % perBar);
        return new BeatMasks(bits, firstOfBar, perBar);
    }

    /// <summary>Numbers in the order of <see cref="Names"/>.</summary>
    public double[] Evidence(StrokeTrain strokes, long[] slots)
    {
        double[] breaks = Breaks();
        double mean = breaks.Average() + 0.02;
        double half = 0;
        for (int k = 0; k < (_perBar + 1) / 2; k++)
            half += breaks[k] / ((_perBar + 1) / 2);
        double[] begins = Begins();
        (double onOne, double inFirst) = Moves(strokes, slots);
        return
        [
            Alike(1), Alike(2), Alike(3), Alike(Math.Max(1, _perBar / 2)), Alike(_perBar), Alike(2 * _perBar), Alike(3 * _perBar), Alike(4 * _perBar), Alike(8 * _perBar),
            breaks[0] / mean, half / mean, breaks[^1] / mean, (breaks[^1] - breaks[0]) / mean,
            begins[0] - begins.Average(), begins[_perBar / 2] - begins.Average(), onOne, inFirst,
        ];
    }

    private double Like(int a, int b)
    {
        if (a < 0 || b < 0 || a >= _bits.Length || b >= _bits.Length)
            return 0.5;
        int either = BitOperations.PopCount(_bits[a] | _bits[b]);
        return either == 0 ? 1 : (double)BitOperations.PopCount(_bits[a] & _bits[b]) / either;
    }

    /// <summary>Mean likeness of beats so far apart, drawn to a half where there are few.</summary>
    private double Alike(int lag)
    {
        double sum = 1;
        double count = 2;
        for (int b = 0; b + lag < _bits.Length; b++, count++)
            sum += Like(b, b + lag);
        return sum / count;
    }

    /// <summary>For each beat of the bar, how unlike the bars about it are there; strokes that come back once a bar break nothing.</summary>
    private double[] Breaks()
    {
        double[] sum = new double[_perBar];
        double[] count = new double[_perBar];
        for (int b = 0; b < _bits.Length; b++)
        {
            int k = (b + _firstOfBar) % _perBar;
            // The likest of four bars: in patterns of two bars, every second one.
            double likest = Math.Max(Math.Max(Like(b, b - _perBar), Like(b, b + _perBar)), Math.Max(Like(b, b - (2 * _perBar)), Like(b, b + (2 * _perBar))));
            sum[k] += 1 - likest;
            count[k]++;
        }

        return [.. sum.Select((value, k) => (value + 0.05) / (count[k] + 1))];
    }

    /// <summary>For each beat of the bar, how much what follows is of one kind, what came before of one kind, and both of different kinds.</summary>
    private double[] Begins()
    {
        double[] sum = new double[_perBar];
        double[] count = new double[_perBar];
        for (int b = _perBar; b + _perBar < _bits.Length; b++)
        {
            double across = 0;
            double after = 0;
            double before = 0;
            for (int j = 0; j < _perBar; j++)
            {
                across += Like(b + j, b + j - _perBar);
                after += Like(b + j, b + j + _perBar);
                before += Like(b + j - _perBar, b + j - (2 * _perBar));
            }

            int k = (b + _firstOfBar) % _perBar;
            double news = ((0.5 * (after + before)) - across) / _perBar;
            sum[k] += Math.Max(0, news);
            count[k]++;
        }

        return [.. sum.Select((value, k) => 10 * value / (count[k] + 2))];
    }

    /// <summary>Of the moments at which the time-keeping hand leaves hat for ride or comes back, the shares on one and in the first beat.</summary>
    private (double OnOne, double InFirst) Moves(StrokeTrain strokes, long[] slots)
    {
        const int Settled = 4;
        int perBar = _perBar * BarSlots.PerBeat;
        int run = 0;
        bool? on = null;
        double moves = 1;
        double onOne = 1.0 / perBar;
        double inFirst = 1.0 / _perBar;
        for (int i = 0; i < strokes.Count; i++)
        {
            if (strokes.VoiceOf[i] is not (Voice.LoudTime or Voice.SoftTime))
                continue;
            if (on is not null && strokes.OnRide[i] != on && run >= Settled)
            {
                long slot = ((slots[i] % perBar) + perBar) % perBar;
                moves++;
                onOne += slot == 0 ? 1 : 0;
                inFirst += slot < BarSlots.PerBeat ? 1 : 0;
            }

            run = on == strokes.OnRide[i] ? run + 1 : 1;
            on = strokes.OnRide[i];
        }

        return (onOne / moves, inFirst / moves);
    }
}
