using Hindbeat.Units;

namespace Hindbeat.Pulses;

/// <summary>One way to divide a beat: its written places, how often each is struck, and where they sound when pairs swing.</summary>
internal sealed class BeatGrid
{
    /// <summary>A hand that is struck faster than this between neighbouring places is a roll, seconds.</summary>
    private const double FastestStep = 0.075;

    /// <summary>0: places never swing; 2: halves swing; 4: halves and quarters swing.</summary>
    private readonly int _swingLevel;

    /// <summary>From this share of a swung pair on it is the long and short of a triplet, and what is struck between them is the triplet's middle.</summary>
    private const double TripletSwing = 0.6;

    private readonly double _logPrior;

    /// <summary>The prior in a shuffle: there triplets are what sixteenths are else.</summary>
    private readonly double _logPriorInShuffle;

    private BeatGrid(int parts, double prior, int swingLevel, double[] shares, double? inShuffle = null)
    {
        Parts = parts;
        _logPrior = prior;
        _logPriorInShuffle = inShuffle ?? prior;
        _swingLevel = swingLevel;
        Written = [.. Enumerable.Range(0, parts + 1).Select(i => new Fraction(i, parts))];
        double all = shares.Sum();
        LogShares = [.. Written.Select((_, i) => Math.Log(shares[i % parts] / all))];
    }

    public int Parts { get; }

    /// <summary>Whether any of its places sounds elsewhere than written when pairs swing so.</summary>
    public bool SwingsIn(SwingShape swing) => _swingLevel > 0 || (Parts == 3 && IsShuffle(swing));

    /// <summary>0, 1/n, ... 1; the last is the next beat's first.</summary>
    public Fraction[] Written { get; }

    /// <summary>ln of each place's share of the moments of a beat that is divided so (our judgement: places that a coarser division has are struck more often).</summary>
    public double[] LogShares { get; }

    /// <summary>Of a beat that divides in two: eighths, sixteenths, triplets, sextuplets, thirty-seconds.</summary>
    public static IReadOnlyList<BeatGrid> Simple { get; } =
    [
        new(2, 0, 2, [4, 3]), new(4, -0.3, 4, [4, 2, 3, 2], inShuffle: -1.2), new(3, -2.5, 0, [4, 3, 3], inShuffle: -0.3),
        new(6, -4, 0, [4, 2, 3, 2, 3, 2]), new(8, -4, 0, [4, 1, 2, 1, 3, 1, 2, 1]),
    ];

    /// <summary>Of a beat that divides in three: eighths, sixteenths, duplets, quadruplets, thirty-seconds.</summary>
    public static IReadOnlyList<BeatGrid> Compound { get; } =
    [
        new(3, 0, 0, [4, 3, 3]), new(6, -0.3, 0, [4, 2, 3, 2, 3, 2]), new(2, -4, 0, [4, 3]),
        new(4, -4.5, 0, [4, 2, 3, 2]), new(12, -4.5, 0, [4, 1, 2, 1, 3, 1, 2, 1, 3, 1, 2, 1]),
    ];

    /// <summary>Whether eighths swing so far that they are the long and short of a triplet.</summary>
    public static bool IsShuffle(SwingShape swing) => swing.Half >= TripletSwing;

    /// <summary>ln of how usual this division is before the passage is known (our judgement; the passage corrects it).</summary>
    public double LogPrior(double beatSeconds, SwingShape swing)
    {
        double tooFast = Math.Max(0, FastestStep - (beatSeconds / Parts)) / FastestStep;
        return (IsShuffle(swing) ? _logPriorInShuffle : _logPrior) - (FastCost * tooFast);
    }

    /// <summary>What a division costs whose places follow at once, nats.</summary>
    private const double FastCost = 16;

    /// <summary>Where place <paramref name="index"/> sounds, in beats.</summary>
    public double SoundingAt(int index, SwingShape swing)
    {
        if (_swingLevel == 2)
            return index == 1 ? swing.Half : index / 2.0;
        if (_swingLevel == 4)
        {
            return index switch
            {
                1 => swing.Half * swing.Quarter,
                2 => swing.Half,
                3 => swing.Half + ((1 - swing.Half) * swing.Quarter),
                _ => index / 4.0,
            };
        }

        // In a shuffle the last of a triplet is the short of a pair, wherever the passage has it.
        if (Parts == 3 && index == 2 && IsShuffle(swing))
            return swing.Half;
        return (double)index / Parts;
    }
}
