using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>Swing set to a figure of one's own instead of a share of what was played.</summary>
/// <param name="Ratio">Long : short of a pair, 1 (straight) to 4.</param>
public sealed record SwingSetting(SwingLevel Level, double Ratio);

/// <summary>What one piece does differently from the rest.</summary>
/// <param name="LayBack">Share of the piece's measured lay-back, 0 to 2; null = the common dial.</param>
/// <param name="LayBackTo">Lay-back of its own, positive = late; wins over any share.</param>
/// <param name="Looseness">Share of the piece's chance, 0 to 2; null = the common dial.</param>
public sealed record PieceDial(double? LayBack = null, Seconds? LayBackTo = null, double? Looseness = null);

/// <summary>
/// How much of each part of a feel a rebuild keeps. Every share runs from 0 (as written) over 1 (as
/// played) to 2 (twice as far); between them, time and loudness follow in a straight line.
/// </summary>
public sealed record Dials
{
    /// <summary>The furthest a dial goes: twice what was played.</summary>
    public const double Most = 2;

    /// <summary>Latest share that a swung off-beat may be set to by hand: 4 : 1.</summary>
    public const double LargestRatio = 4;

    /// <summary>Furthest lay-back that may be set by hand, in either direction: a quarter of a second.</summary>
    public static readonly Seconds LargestLayBack = Seconds.Of(0.25);

    /// <summary>Measured swing of the off-beats.</summary>
    public double Swing { get; init; } = 1;

    /// <summary>Measured lay-back of each piece.</summary>
    public double LayBack { get; init; } = 1;

    /// <summary>What a piece does at one place of the bar again and again beyond swing and lay-back.</summary>
    public double Habits { get; init; } = 1;

    /// <summary>What is left: the chance of each single stroke.</summary>
    public double Looseness { get; init; } = 1;

    /// <summary>Loudness of single strokes; at 0 each piece has one loudness for its ghosts, its accents and its plain strokes.</summary>
    public double Touch { get; init; } = 1;

    /// <summary>The tempo's breath; at 0 the passage runs steadily at its mean tempo.</summary>
    public double Tempo { get; init; } = 1;

    /// <summary>Swing of one's own; null = the dial on what was measured.</summary>
    public SwingSetting? SwingTo { get; init; }

    /// <summary>Slowest and fastest tempo that can be set, bpm.</summary>
    public const double SlowestBpm = 20;
    public const double FastestBpm = 400;

    /// <summary>Mean tempo of the rebuild; null = as played.</summary>
    public Bpm? TempoTo { get; init; }

    /// <summary>What stays of the feel at another tempo.</summary>
    public FeelScale FeelScale { get; init; }

    /// <summary>
    /// Draw each stroke's chance anew, with the measured spread and correlation, from this seed; null = the drummer's own.
    /// </summary>
    public ulong? FreshLooseness { get; init; }

    /// <summary>Pieces that differ.</summary>
    public IReadOnlyDictionary<KitPiece, PieceDial> Pieces { get; init; } = new Dictionary<KitPiece, PieceDial>();

    /// <summary>The chart's bars, dead straight.</summary>
    public static Dials AsWritten => new() { Swing = 0, LayBack = 0, Habits = 0, Looseness = 0, Touch = 0, Tempo = 0 };

    /// <summary>Every stroke where it was.</summary>
    public static Dials AsPlayed => new();

    /// <summary>Straight time and even loudness, but the off-beats swing.</summary>
    public static Dials SwingOnly => AsWritten with { Swing = 1 };

    /// <summary>Straight, but each piece sits where it sat.</summary>
    public static Dials LaidBackOnly => AsWritten with { LayBack = 1 };

    /// <summary>Swing and lay-back, nothing left to chance.</summary>
    public static Dials SwungAndLaidBack => AsWritten with { Swing = 1, LayBack = 1 };

    /// <summary>Half as much again of everything one could learn, so that it can be heard.</summary>
    public static Dials Exaggerated => new() { Swing = 1.5, LayBack = 2, Habits = 1.5, Touch = 1.25 };

    /// <summary>The ready ones by the name a person types or reads.</summary>
    public static IReadOnlyDictionary<string, Dials> Ready { get; } = new Dictionary<string, Dials>
    {
        ["as-written"] = AsWritten,
        ["swing-only"] = SwingOnly,
        ["laid-back-only"] = LaidBackOnly,
        ["swung-and-laid-back"] = SwungAndLaidBack,
        ["as-played"] = AsPlayed,
        ["exaggerated"] = Exaggerated,
    };

    /// <exception cref="InputException">A dial is outside its range; the message names it.</exception>
    internal void Check()
    {
        CheckShare("swing", Swing);
        CheckShare("lay-back", LayBack);
        CheckShare("habits", Habits);
        CheckShare("looseness", Looseness);
        CheckShare("touch", Touch);
        CheckShare("tempo", Tempo);
        if (SwingTo is { } swing && !(swing.Ratio >= 1 && swing.Ratio <= LargestRatio))
            throw new InputException(FormattableString.Invariant($"A swing of {swing.Ratio} cannot be set; give long : short between 1 (straight) and {LargestRatio}, like 1.6."));
        if (TempoTo is { } tempo && !(tempo.Value >= SlowestBpm && tempo.Value <= FastestBpm))
            throw new InputException(FormattableString.Invariant($"A tempo of {tempo.Value:0.#} bpm cannot be set; give {SlowestBpm} to {FastestBpm}."));
        foreach ((KitPiece piece, PieceDial dial) in Pieces)
        {
            if (dial.LayBack is { } share)
                CheckShare($"{piece.Name()} lay-back", share);
            if (dial.Looseness is { } loose)
                CheckShare($"{piece.Name()} looseness", loose);
            if (dial.LayBackTo is { } set && set.Abs() > LargestLayBack)
                throw new InputException(FormattableString.Invariant($"A lay-back of {set.Milliseconds:0.#} ms for the {piece.Name()} is beyond {LargestLayBack.Milliseconds:0} ms; was it meant in another unit?"));
        }
    }

    private static void CheckShare(string dial, double share)
    {
        if (!(share >= 0 && share <= Most))
            throw new InputException(FormattableString.Invariant($"The {dial} dial is at {share}; dials go from 0 (as written) over 1 (as played) to {Most} (200 %)."));
    }
}
