using Hindbeat.Performances;

namespace Hindbeat.Pulses;

/// <summary>The roles that strokes play in saying where the bar lies.</summary>
internal enum Voice
{
    Kick,
    Backbeat,
    GhostSnare,
    LoudTime,
    SoftTime,
    PedalHat,
    Crash,
    Tom,
}

/// <summary>
/// The hits of a passage as plain columns, sorted by time: what the search for the pulse runs over.
/// </summary>
internal sealed class StrokeTrain
{
    public const int Voices = 8;

    /// <summary>A snare stroke below this share of the passage's strong ones (90th percentile of velocity) is not a backbeat.</summary>
    private const double GhostShare = 0.6;

    /// <summary>A hat or ride stroke below this share of the strong ones is unaccented.</summary>
    private const double SoftTimeShare = 0.75;

    /// <summary>Velocities of even strokes spread about so much; less says nothing.</summary>
    private const double LeastSpread = 8;

    private StrokeTrain(double[] times, Voice[] voices, double[] weights, bool[] onRide, double[] accents)
    {
        Accents = accents;
        Times = times;
        VoiceOf = voices;
        Weights = weights;
        OnRide = onRide;
    }

    /// <summary>Seconds, ascending.</summary>
    public double[] Times { get; }

    public Voice[] VoiceOf { get; }

    /// <summary>How much a stroke says of the pulse, 0 to 1: by piece, velocity and confidence.</summary>
    public double[] Weights { get; }

    /// <summary>Whether a stroke of the time-keeping hand falls on the ride; a hand moves from hat to ride where a part begins.</summary>
    public bool[] OnRide { get; }

    /// <summary>How much louder a stroke of the foot or the time-keeping hand is than that limb's mean, in spreads of its velocity; 0 for all others.</summary>
    public double[] Accents { get; }

    public int Count => Times.Length;

    public double Start => Times[0];

    public double End => Times[^1];

    /// <param name="hits">Sorted by time, at least one.</param>
    public static StrokeTrain From(IReadOnlyList<Hit> hits)
    {
        double strongSnare = Strong(hits, hit => hit.Piece == KitPiece.Snare);
        double strongTime = Strong(hits, hit => KeepsTime(hit.Piece));
        double[] times = new double[hits.Count];
        Voice[] voices = new Voice[hits.Count];
        double[] weights = new double[hits.Count];
        for (int i = 0; i < hits.Count; i++)
        {
            Hit hit = hits[i];
            times[i] = hit.Time.TotalSeconds;
            voices[i] = hit.Piece switch
            {
                KitPiece.Kick => Voice.Kick,
                KitPiece.CrossStick => Voice.Backbeat,
                KitPiece.Snare => hit.Velocity >= GhostShare * strongSnare ? Voice.Backbeat : Voice.GhostSnare,
                KitPiece.HatPedal => Voice.PedalHat,
                KitPiece.Crash or KitPiece.Splash or KitPiece.China => Voice.Crash,
                _ when KeepsTime(hit.Piece) => hit.Velocity >= SoftTimeShare * strongTime ? Voice.LoudTime : Voice.SoftTime,
                _ => Voice.Tom,
            };
            weights[i] = RoleWeight(voices[i]) * (0.3 + (0.7 * hit.Velocity / 127.0)) * hit.Confidence;
        }

        return new StrokeTrain(times, voices, weights, [.. hits.Select(hit => hit.Piece is KitPiece.Ride or KitPiece.RideBell)], AccentsOf(hits));
    }

    private static double[] AccentsOf(IReadOnlyList<Hit> hits)
    {
        double[] accents = new double[hits.Count];
        foreach (IGrouping<bool, int> limb in Enumerable.Range(0, hits.Count).Where(i => hits[i].Piece == KitPiece.Kick || KeepsTime(hits[i].Piece)).GroupBy(i => hits[i].Piece == KitPiece.Kick))
        {
            double mean = limb.Average(i => hits[i].Velocity);
            double spread = Math.Sqrt(limb.Average(i => (hits[i].Velocity - mean) * (hits[i].Velocity - mean)) + (LeastSpread * LeastSpread));
            foreach (int i in limb)
                accents[i] = (hits[i].Velocity - mean) / spread;
        }

        return accents;
    }

    /// <summary>Kick and loud snare carry the pulse, ghosts fill it in (common practice, no source; tuned on no data).</summary>
    private static double RoleWeight(Voice voice) => voice switch
    {
        Voice.Kick or Voice.Backbeat or Voice.Crash => 1.0,
        Voice.LoudTime or Voice.Tom => 0.8,
        Voice.SoftTime or Voice.PedalHat => 0.6,
        _ => 0.4,
    };

    private static bool KeepsTime(KitPiece piece) =>
        piece is KitPiece.HatClosed or KitPiece.HatOpen or KitPiece.Ride or KitPiece.RideBell;

    private static double Strong(IReadOnlyList<Hit> hits, Func<Hit, bool> chosen)
    {
        int[] velocities = [.. hits.Where(chosen).Select(hit => hit.Velocity).Order()];
        return velocities.Length == 0 ? 0 : velocities[(int)(0.9 * (velocities.Length - 1))];
    }
}
