using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Training;

/// <summary>Cuts passages out of a take, as users choose them and as listeners hear them.</summary>
internal static class TrainingPassage
{
    /// <summary>At most this much of a take.</summary>
    private const double LongestSeconds = 70;

    public static Hit[]? Of(Take take, Random random, PassageKind kind)
    {
        if (take.Hits.Count < 8)
            return null;
        double total = take.Hits[^1].Time.TotalSeconds;
        double start = 0;
        double length = Math.Min(total, LongestSeconds) + 0.01;
        if (kind.IsPart)
        {
            // Two to forty bars, most of them from a downbeat on.
            length = take.BarSeconds * Math.Exp(Math.Log(2) + (random.NextDouble() * Math.Log(20)));
            start = random.NextDouble() * Math.Max(0, total - length);
            start = random.NextDouble() < 0.75 ? Math.Round(start / take.BarSeconds) * take.BarSeconds : start;
        }

        List<Hit> hits = [.. take.Hits.Where(hit => hit.Time.TotalSeconds >= start - 0.04 && hit.Time.TotalSeconds < start + length)];
        if (hits.Count < 8 || (hits[^1].Time - hits[0].Time).Value < 2)
            return null;
        if (kind.Faults > 0)
            hits = Misheard(hits, random, kind.Faults);
        return hits.Count < 8 ? null : [.. hits.OrderBy(hit => hit.Time)];
    }

    /// <summary>Faults at full measure: a fifth of hats and two fifths of ghosts missed, 7 % invented, 6 % on another piece, 4 ms of jitter.</summary>
    private static List<Hit> Misheard(List<Hit> hits, Random random, double measure)
    {
        double first = hits[0].Time.TotalSeconds;
        double span = hits[^1].Time.TotalSeconds - first;
        List<Hit> heard = [];
        foreach (Hit hit in hits)
        {
            double missed = hit.Piece.Family() == PieceFamily.Hat ? 0.2 : hit.Piece == KitPiece.Snare && hit.Velocity < 50 ? 0.4 : 0.06;
            if (random.NextDouble() < missed * measure)
                continue;
            heard.Add(hit with
            {
                Time = hit.Time + Seconds.FromMilliseconds(4 * measure * Normal(random)),
                Piece = random.NextDouble() < 0.06 * measure ? Confused(hit.Piece) : hit.Piece,
                Velocity = Math.Clamp((int)(hit.Velocity + (12 * measure * Normal(random))), 1, 127),
            });
        }

        for (int extra = (int)(0.07 * measure * hits.Count); extra > 0; extra--)
        {
            // Half of what is invented doubles a true stroke on another piece, half falls anywhere.
            Hit origin = hits[random.Next(hits.Count)];
            heard.Add(random.NextDouble() < 0.5
                ? origin with { Piece = Confused(origin.Piece), Velocity = 20 + random.Next(50), Time = origin.Time + Seconds.FromMilliseconds(4 * Normal(random)) }
                : origin with { Time = AudioTime.FromSeconds(first + (random.NextDouble() * span)), Velocity = 20 + random.Next(50) });
        }

        return heard;
    }

    private static KitPiece Confused(KitPiece piece) => piece switch
    {
        KitPiece.Kick => KitPiece.TomLow,
        KitPiece.Snare => KitPiece.TomHigh,
        KitPiece.TomLow or KitPiece.TomMid => KitPiece.Kick,
        KitPiece.TomHigh or KitPiece.CrossStick => KitPiece.Snare,
        KitPiece.HatClosed => KitPiece.Ride,
        KitPiece.HatPedal => KitPiece.HatClosed,
        KitPiece.Crash or KitPiece.Splash or KitPiece.China => KitPiece.HatOpen,
        _ => KitPiece.HatClosed,
    };

    private static double Normal(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}

/// <summary>How a passage is cut out of a take.</summary>
/// <param name="IsPart">A random part instead of the whole.</param>
/// <param name="Faults">0 = as played, 1 = as a poor listener hears it.</param>
internal readonly record struct PassageKind(bool IsPart, double Faults);
