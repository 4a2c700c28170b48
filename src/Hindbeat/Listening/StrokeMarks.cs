using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Listening;

/// <summary>What the sound after a stroke says of how it was played: how long a hat rings, half-open hats, rimshots.</summary>
internal static class StrokeMarks
{
    /// <summary>A half-open hat rings this long (two training kits: closed hats 30 to 110 ms, half-open ones 200 to 310, open ones 440 to 920; what is followed on beyond the next stroke comes out up to 100 ms longer).</summary>
    private static readonly Seconds HalfOpenFrom = Seconds.FromMilliseconds(170), HalfOpenTo = Seconds.FromMilliseconds(420);

    /// <summary>It rings so many times as long as the recording's own closed hats: in a long room those, too, ring on.</summary>
    private const double OverClosed = 1.8;

    /// <summary>The foot holds the hat for a while: an open hat whose ring is hidden is half open where the nearest told ones on both sides, no further off than this, are.</summary>
    private static readonly Seconds Held = Seconds.FromMilliseconds(1500);

    /// <param name="hits">Sorted by time, with levels.</param>
    public static Hit[] Add(IReadOnlyList<Hit> hits, BandPowers powers, double metalHertz)
    {
        Hit[] marked = [.. hits];
        Seconds?[] rings = HatRing.Measure(powers, hits, metalHertz);
        Seconds? closed = Median([.. Enumerable.Range(0, marked.Length).Where(i => marked[i].Piece == KitPiece.HatClosed && rings[i] is not null).Select(i => rings[i]!.Value)]);
        Seconds from = closed is { } usual && usual * OverClosed > HalfOpenFrom ? usual * OverClosed : HalfOpenFrom;
        for (int i = 0; i < marked.Length; i++)
        {
            bool half = rings[i] is { } ring ? IsHalf(ring) : marked[i].Piece == KitPiece.HatOpen && HeldHalf(i, -1) && HeldHalf(i, 1);
            marked[i] = marked[i] with { Ring = rings[i], Marks = marked[i].Marks | (half ? HitMarks.HalfOpen : HitMarks.None) };
        }

        foreach (int i in RimshotFinder.Find(powers, hits))
            marked[i] = marked[i] with { Marks = marked[i].Marks | HitMarks.Rimshot };
        return marked;

        bool IsHalf(Seconds ring) => ring >= from && ring <= HalfOpenTo;

        bool HeldHalf(int i, int step)
        {
            for (int j = i + step; j >= 0 && j < marked.Length && (hits[j].Time - hits[i].Time).Abs() <= Held; j += step)
            {
                if (rings[j] is { } near)
                    return IsHalf(near);
            }

            return false;
        }
    }

    private static Seconds? Median(Seconds[] values)
    {
        const int Fewest = 3;
        if (values.Length < Fewest)
            return null;
        Array.Sort(values);
        return values[values.Length / 2];
    }
}
