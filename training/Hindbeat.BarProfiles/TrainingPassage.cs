using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Training;

/// <summary>Cuts passages out of a take, as users choose them and as listeners hear them.</summary>
internal static class TrainingPassage
{
    /// <summary>
    /// Part 0 is the whole take (70 s of it), as played; then random parts of 2 to 40 bars, most of them starting on a
    /// downbeat: part 1, 4, ... with a good listener's faults, part 2, 5, ... with a poor one's, part 3, 6, ... as played.
    /// </summary>
    public static Hit[]? Of(KitMidi kit, Random random, int part)
    {
        double barSeconds = kit.Grid.MeanTempo.Beat.Value * kit.Grid.Meter.BeatsPerBar;
        double total = kit.Hits[^1].Time.TotalSeconds;
        double start = 0;
        double length = Math.Min(total, 70);
        if (part > 0)
        {
            length = barSeconds * Math.Exp(Math.Log(2) + (random.NextDouble() * Math.Log(20)));
            start = random.NextDouble() * Math.Max(0, total - length);
            start = random.NextDouble() < 0.7 ? Math.Round(start / barSeconds) * barSeconds : start;
        }

        List<Hit> hits = [.. kit.Hits.Where(hit => hit.Time.TotalSeconds >= start - 0.04 && hit.Time.TotalSeconds < start + length)];
        if (hits.Count < 8 || (hits[^1].Time - hits[0].Time).Value < 3)
            return null;
        if (part % 3 == 1)
            hits = Misheard(hits, random, 0.4);
        else if (part % 3 == 2)
            hits = Misheard(hits, random, 1);
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
