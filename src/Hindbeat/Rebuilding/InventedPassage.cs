using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>
/// Eight bars that nobody played: a slow funk groove with a known feel, from a seed. Every number of the
/// feel is known, so what a study of the sound finds can be set beside what was put in.
/// </summary>
/// <remarks>
/// Chance is drawn per stroke and then centred, for each piece apart on places that swing and that do
/// not: the figures of <see cref="Truth"/> are thus what these strokes really average to, not what
/// they would average to in the long run. The same on every platform: sums and products only.
/// </remarks>
public sealed record InventedPassage(string Name, string Player, Performance Performance, DemoTruth Truth)
{
    private const double MeanBpm = 92;
    private const double SwingRatio = 1.62;

    /// <summary>Tempo gained from first to last beat, and the height of a bow over it, bpm.</summary>
    private const double GainedBpm = 1.2;
    private const double BowBpm = 0.8;

    private const double FirstBeatSeconds = 0.5;
    private const double VelocitySpread = 3;
    private const double LoudestDbfs = -14;

    /// <summary>
    /// A row a piece, a column a 16th ("1 e &amp; a 2 e &amp; a …"), bars apart by a blank.
    /// X strong, x plain, s soft, g ghost.
    /// </summary>
    private static readonly (KitPiece Piece, double LateMs, double LooseMs, string Bars)[] Score =
    [
        (KitPiece.HatClosed, 0, 2.5,
            "X-xsX-xsX-xsX-xs X-xsX-xsX-xsX--- XsxsX-xsX-xsX-xs X-xsX-xsX-xsX--- X-xsX-xsXsxsX-xs X-xsX-xsX-xsX--- XsxsX-xsX-xsX-xs X-xsX-xsX-xs----"),
        (KitPiece.HatOpen, 0, 2.5,
            "---------------- --------------x- ---------------- --------------x- ---------------- --------------x- ---------------- ----------------"),
        (KitPiece.Snare, 6, 3.5,
            "----X----g--X--- ----X--g-g--X--g -----g--X-g-X--- ----X--g-g--X--g ----X----g--X--- ----X--g-g--X--g ----X----g--X--g ----X--g-g--xx--"),
        (KitPiece.Kick, 18, 3.5,
            "X-----x---x----- X--x------x----- X-----x---xx---- X--x--x---x----- X-----x---x--x-- X--x------x----- X-----x---xx---- X--x--x---x-----"),
        (KitPiece.TomHigh, 6, 3.5,
            "---------------- ---------------- ---------------- ---------------- ---------------- ---------------- ---------------- --------------x-"),
        (KitPiece.TomLow, 6, 3.5,
            "---------------- ---------------- ---------------- ---------------- ---------------- ---------------- ---------------- ---------------x"),
    ];

    public static InventedPassage Make(ulong seed)
    {
        var dice = new SplitMix64(seed);
        Pulse pulse = MakePulse();
        var hits = new List<Hit>();
        foreach ((KitPiece piece, double lateMs, double looseMs, string bars) in Score)
            hits.AddRange(Play(piece, lateMs, looseMs, bars.Replace(" ", "", StringComparison.Ordinal), pulse, ref dice));
        var truth = new DemoTruth(
            pulse.MeanTempo,
            DriftOf(pulse),
            SwingLevel.Sixteenth,
            SwingRatio,
            KitPiece.HatClosed,
            Score.ToDictionary(row => row.Piece, row => Seconds.FromMilliseconds(row.LateMs)),
            Score.ToDictionary(row => row.Piece, row => Seconds.FromMilliseconds(row.LooseMs)));
        return new InventedPassage("Late Tram Home", "Juniper Vask (invented)", new Performance(pulse, hits), truth);
    }

    private static List<Hit> Play(KitPiece piece, double lateMs, double looseMs, string steps, Pulse pulse, ref SplitMix64 dice)
    {
        int[] struck = [.. Enumerable.Range(0, steps.Length).Where(step => steps[step] != '-')];
        double[] chance = new double[steps.Length];
        foreach (int step in struck)
            chance[step] = dice.Gaussian() * looseMs / 1000;
        foreach (IGrouping<int, int> kind in struck.GroupBy(step => step % 2))
        {
            double mean = kind.Average(step => chance[step]);
            foreach (int step in kind)
                chance[step] -= mean;
        }

        var hits = new List<Hit>();
        foreach (int step in struck)
        {
            BarPosition position = pulse.PositionAt(new Fraction(step, 4));
            // A 16th that swings: its pair of an 8th is half a beat, its second note at R/(1+R) of it.
            double beats = step % 2 == 0 ? step / 4.0 : ((step - 1) / 4.0) + (0.5 * SwingRatio / (1 + SwingRatio));
            AudioTime time = pulse.TimeAt(beats) + Seconds.Of((lateMs / 1000) + chance[step]);
            int velocity = (int)Math.Round(VelocityOf(steps[step]) + (VelocitySpread * dice.Gaussian()));
            velocity = Math.Clamp(velocity, 1, 127);
            Level level = Level.FromDbfs(LoudestDbfs + (Kit.DecibelsPerDecade * Math.Log10(velocity / 127.0)));
            hits.Add(new Hit(time, piece, velocity, level, 1)
            {
                Position = position,
                Marks = steps[step] == 'g' ? HitMarks.Ghost : HitMarks.None,
            });
        }

        return hits;
    }

    private static double VelocityOf(char stroke) => stroke switch
    {
        'X' => 106,
        'x' => 88,
        's' => 68,
        'g' => 36,
        _ => throw new ArgumentOutOfRangeException(nameof(stroke), stroke, "The score knows X, x, s, g and -."),
    };

    private static Pulse MakePulse()
    {
        int count = Score[0].Bars.Split(' ').Length * Meter.FourFour.BeatsPerBar;
        var beats = new Beat[count];
        double time = FirstBeatSeconds;
        for (int i = 0; i < count; i++)
        {
            beats[i] = new Beat(AudioTime.FromSeconds(time), 1 + (i / 4), 1 + (i % 4));
            time += 60 / BpmAt((i + 0.5) / count);
        }

        return new Pulse(Meter.FourFour, beats);
    }

    /// <summary>Tempo at a share x of the passage; its mean over the passage is <see cref="MeanBpm"/>.</summary>
    private static double BpmAt(double x) => MeanBpm + (GainedBpm * (x - 0.5)) + (BowBpm * ((4 * x * (1 - x)) - (2.0 / 3)));

    /// <summary>Least-squares slope of the tempo of each beat over time, bpm a minute.</summary>
    private static double DriftOf(Pulse pulse)
    {
        (double Time, double Bpm)[] points = [.. Enumerable.Range(0, pulse.Beats.Count - 1).Select(i =>
            (pulse.TimeAt(i + 0.5).TotalSeconds / 60, 60 / (pulse.Beats[i + 1].Time - pulse.Beats[i].Time).Value))];
        double meanTime = points.Average(point => point.Time);
        double meanBpm = points.Average(point => point.Bpm);
        return points.Sum(point => (point.Time - meanTime) * (point.Bpm - meanBpm)) / points.Sum(point => (point.Time - meanTime) * (point.Time - meanTime));
    }
}
