using Hindbeat.Units;

namespace Hindbeat.Takes;

/// <summary>One tempo of the ladder.</summary>
/// <param name="Share">Of the passage's own tempo, 1 = as played.</param>
public readonly record struct Rung(Bpm Tempo, double Share);

/// <summary>What a finished take says about the rung it was played on.</summary>
/// <param name="Found">Share of strokes at their places, 0 to 1.</param>
/// <param name="ToWorkOn">Weight of the first advice; 0 when there was none.</param>
public sealed record TakeMark(DateTimeOffset Played, Bpm Tempo, double Found, double ToWorkOn);

/// <summary>
/// Tempi from slow to a little above the passage's own, and when to climb: after two takes in a row with nothing missing and nothing
/// that listeners could tell; after two bad ones a step down. Steps are finer near the top, where a few bpm are harder.
/// </summary>
/// <remarks>The rule is common practice, no source.</remarks>
public static class PracticeLadder
{
    /// <summary>In words, for handouts.</summary>
    public const string Rule = "Climb when two takes in a row have every stroke and nothing stands out; after two bad ones, a step down.";

    private const double GoodFound = 0.97, BadFound = 0.85, Telling = 1;
    private const int InARow = 2;

    private static readonly double[] Shares = [0.5, 0.6, 0.7, 0.78, 0.85, 0.9, 0.95, 1, 1.05];

    public static IReadOnlyList<Rung> Make(Bpm tempo) => [.. Shares.Select(share => new Rung(Bpm.Of(Math.Round(tempo.Value * share)), share))];

    /// <summary>The rung to play next; the first is well under the passage's tempo.</summary>
    /// <param name="takes">So far, any order.</param>
    public static Rung Next(Bpm tempo, IReadOnlyList<TakeMark> takes)
    {
        ArgumentNullException.ThrowIfNull(takes);
        IReadOnlyList<Rung> ladder = Make(tempo);
        int at = 2, good = 0, bad = 0;
        foreach (TakeMark take in takes.OrderBy(take => take.Played))
        {
            int rung = Nearest(ladder, take.Tempo);
            if (rung != at)
                (at, good, bad) = (rung, 0, 0);
            bool isGood = take.Found >= GoodFound && take.ToWorkOn < Telling;
            good = isGood ? good + 1 : 0;
            bad = take.Found < BadFound ? bad + 1 : 0;
            if (good == InARow)
                (at, good, bad) = (Math.Min(at + 1, ladder.Count - 1), 0, 0);
            else if (bad == InARow)
                (at, good, bad) = (Math.Max(at - 1, 0), 0, 0);
        }

        return ladder[at];
    }

    private static int Nearest(IReadOnlyList<Rung> ladder, Bpm tempo) =>
        Enumerable.Range(0, ladder.Count).MinBy(i => Math.Abs(Math.Log(ladder[i].Tempo.Value / tempo.Value)));
}
