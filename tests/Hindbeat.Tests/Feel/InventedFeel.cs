using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Tests.Feel;

/// <summary>
/// A passage with a known feel: strokes are placed by the textbook formula (pulse + swing + lay-back + habit +
/// spread), so the truth of every figure is known. Shares no code with what it tests.
/// </summary>
internal sealed class InventedFeel
{
    public double Tempo { get; init; } = 90;

    /// <summary>Change of tempo, bpm a minute.</summary>
    public double Drift { get; init; }
    public int Bars { get; init; } = 8;
    public double Swing8 { get; init; } = 1;
    public double Swing16 { get; init; } = 1;
    public Dictionary<KitPiece, double> LayBackMs { get; } = [];

    /// <summary>Extra lateness by piece, beat and place.</summary>
    public Dictionary<(KitPiece, int, Fraction), double> HabitMs { get; } = [];
    public Dictionary<KitPiece, double> LoosenessMs { get; } = [];

    /// <summary>Chance that a stroke is missing, and that it is misheard by up to 60 ms.</summary>
    public double Missing { get; init; }
    public double Misheard { get; init; }

    /// <summary>Common wander of the whole kit from bar to bar, SD in ms.</summary>
    public double BarWanderMs { get; init; }

    /// <summary>True: the pulse given to the analysis has the drift; false: it is steady.</summary>
    public bool PulseFollows { get; init; } = true;
    public PulseSource Source { get; init; } = PulseSource.Tracked;
    public List<(KitPiece Piece, int Beat, Fraction Within, double Level)> Pattern { get; } = [];

    public static Fraction F(int top, int bottom) => new(top, bottom);

    public InventedFeel Play(KitPiece piece, double level, params (int Beat, Fraction Within)[] places)
    {
        foreach ((int beat, Fraction within) in places)
            Pattern.Add((piece, beat, within, level));
        return this;
    }

    public InventedFeel PlayEvery(KitPiece piece, double level, params Fraction[] withins)
    {
        for (int beat = 1; beat <= 4; beat++)
        {
            foreach (Fraction within in withins)
                Pattern.Add((piece, beat, within, level));
        }

        return this;
    }

    /// <summary>Time of a place: t(k) solves tempo(t) = T + D·t to second order in k: t = k·b + c·k².</summary>
    public double TimeOf(double beats)
    {
        double total = Bars * 4, b = 60 / Tempo, x = beats - (total / 2);
        double c = -Drift / 60 * b * b * b / 120;
        return 1.0 + (total / 2 * b) + (b * x) + (c * x * x);
    }

    public Performance Make(Random random)
    {
        int beats = Bars * 4;
        var list = new Beat[beats + 1];
        for (int i = 0; i <= beats; i++)
        {
            double t = PulseFollows ? TimeOf(i) : 1.0 + (60 / Tempo * i);
            list[i] = new Beat(AudioTime.FromSeconds(t), 1 + (i / 4), 1 + (i % 4));
        }

        var hits = new List<Hit>();
        for (int bar = 1; bar <= Bars; bar++)
        {
            double wander = BarWanderMs * Normal(random);
            foreach ((KitPiece piece, int beat, Fraction within, double level) in Pattern)
            {
                double normal = Normal(random), chance = random.NextDouble(), wrong = random.NextDouble(), levelNoise = Normal(random);
                if (chance < Missing)
                    continue;
                double k = ((bar - 1) * 4) + (beat - 1) + within.ToDouble();
                double beatLength = TimeOf(k + 0.5) - TimeOf(k - 0.5);
                double delay = within.Denominator switch
                {
                    2 => 0.5 * beatLength * (Swing8 - 1) / (Swing8 + 1),
                    4 => 0.25 * beatLength * (Swing16 - 1) / (Swing16 + 1),
                    _ => 0,
                };
                double ms = LayBackMs.GetValueOrDefault(piece) + HabitMs.GetValueOrDefault((piece, beat, within))
                    + (LoosenessMs.GetValueOrDefault(piece) * normal) + wander;
                if (wrong < Misheard)
                    ms += 120 * (random.NextDouble() - 0.5);
                hits.Add(new Hit(AudioTime.FromSeconds(TimeOf(k) + delay + (ms / 1000)), piece, 80, Level.FromDbfs(level + (1.5 * levelNoise)), 1)
                {
                    Position = new BarPosition(bar, beat, within),
                });
            }
        }

        return new Performance(new Pulse(Meter.FourFour, list, 1, Source), hits);
    }

    public static double Normal(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());

    /// <summary>Hats in 16ths, snare on 2 and 4 with a ghost, kick on the beat, the "&amp;" and 16ths.</summary>
    public InventedFeel Groove()
    {
        PlayEvery(KitPiece.HatClosed, -20, F(0, 1), F(1, 4), F(1, 2), F(3, 4));
        Play(KitPiece.Snare, -10, (2, F(0, 1)), (4, F(0, 1)));
        Play(KitPiece.Snare, -28, (2, F(3, 4)), (4, F(1, 4)));
        Play(KitPiece.Kick, -8, (1, F(0, 1)), (3, F(0, 1)), (3, F(1, 2)), (1, F(3, 4)));
        return this;
    }
}
