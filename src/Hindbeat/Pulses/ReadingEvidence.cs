using Hindbeat.Performances;

namespace Hindbeat.Pulses;

/// <summary>
/// What speaks for and against a reading, as numbers that readings of one passage are compared by. The score of a
/// reading is their weighted sum, and exp(score) / Σ exp(scores) its probability: a conditional logit
/// (McFadden, "Conditional logit analysis of qualitative choice behavior", 1974), its weights learned from data.
/// </summary>
internal static class ReadingEvidence
{
    /// <summary>Names, in the order of the numbers.</summary>
    public static readonly string[] Names =
    [
        "repetition", "sections", "timing", "tempo prior", "ln bpm", "ln bpm squared",
        "starts on one", "starts on a beat", "backbeats on even beats", "backbeats on beats", "kicks on one", "kicks on beats",
        "crashes on one", "loud time on beats", "time on beats", "ln strokes a beat", "ln strokes a beat squared",
        "ln time strokes a beat", "ln time strokes a beat squared", "kick on three", "toms late in the bar",
        "3/4", "6/8", "other meter", "repetition full", "sections full", "timing full",
        "backbeats on third beat", "fast with backbeats on odd", "starts near one",
        "ends on one", "ends on a beat", "tempo of its kind",
        .. BeatMasks.Names, .. IntervalEvidence.Names, .. AccentEvidence.Names, "whole tempo",
        "ln bpm by backbeats on even beats", "ln bpm by backbeats on third beat", "ln bpm by ln seconds between backbeats", "ln bpm by kicks on beats",
        .. PhraseEvidence.Names,
        "unexplained", "unexplained over 0.1", "unexplained over 0.2",
    ];

    /// <summary>The last of the numbers need the passage's best reading and are set by <see cref="SetUnexplained"/>.</summary>
    private const int Unexplained = 3;

    /// <param name="shortfall">How much worse than the best reading this one explains a stroke, nats, 0 or more.</param>
    public static void SetUnexplained(double[] evidence, double shortfall)
    {
        evidence[^3] = shortfall;
        evidence[^2] = Math.Max(0, shortfall - 0.1);
        evidence[^1] = Math.Max(0, shortfall - 0.2);
    }

    public static double[] Of(StrokeTrain strokes, BarCounts counts, Meter meter, double bpm, double repetition, double sections, double kindTempo, double wholeTempo)
    {
        int perBar = counts.Slots;
        double[] onBeat = new double[StrokeTrain.Voices];
        double[] onOne = new double[StrokeTrain.Voices];
        double[] onEven = new double[StrokeTrain.Voices];
        double[] onThree = new double[StrokeTrain.Voices];
        double[] late = new double[StrokeTrain.Voices];
        double[] all = new double[StrokeTrain.Voices];
        for (int i = 0; i < strokes.Count; i++)
        {
            int voice = (int)strokes.VoiceOf[i];
            int slot = (int)(((counts.SlotOf[i] % perBar) + perBar) % perBar);
            int beat = slot / BarSlots.PerBeat;
            all[voice]++;
            if (beat >= meter.BeatsPerBar / 2)
                late[voice]++;
            int within = slot % BarSlots.PerBeat;
            if (within != 0)
                continue;
            onBeat[voice]++;
            if (beat == 0)
                onOne[voice]++;
            else if (beat % 2 == 1)
                onEven[voice]++;
            else if (beat == 2)
                onThree[voice]++;
        }

        double Share(double[] part, Voice voice) => (part[(int)voice] + 0.1) / (all[(int)voice] + 1.0);
        double time = all[(int)Voice.LoudTime] + all[(int)Voice.SoftTime];
        double beats = Math.Max(1, (counts.SlotOf[^1] - counts.SlotOf[0]) / (double)BarSlots.PerBeat);
        double density = Math.Log(strokes.Count / beats);
        double timeDensity = Math.Log((time + 0.3) / beats);
        double root = Math.Sqrt(strokes.Count);
        double tempo = Math.Log(bpm / 110);
        long first = counts.SlotOf[0];
        long sinceOne = ((first % perBar) + perBar) % perBar;
        bool six = meter == new Meter(6, 8);
        bool three = meter == new Meter(3, 4);
        long last = ((counts.SlotOf[^1] % perBar) + perBar) % perBar;
        return
        [
            repetition / root, sections / root, counts.TimingLog / root, MeterPrior.LogOf(meter, bpm), tempo, tempo * tempo,
            sinceOne == 0 ? 1 : 0, first % BarSlots.PerBeat == 0 ? 1 : 0,
            Share(onEven, Voice.Backbeat), Share(onBeat, Voice.Backbeat), Share(onOne, Voice.Kick), Share(onBeat, Voice.Kick),
            Share(onOne, Voice.Crash), Share(onBeat, Voice.LoudTime), (onBeat[(int)Voice.LoudTime] + onBeat[(int)Voice.SoftTime] + 0.3) / (time + 1), density, density * density,
            timeDensity, timeDensity * timeDensity, Share(onThree, Voice.Kick), Share(late, Voice.Tom),
            three ? 1 : 0, six ? 1 : 0, three || six || meter == Meter.FourFour ? 0 : 1,
            repetition / 100, sections / 100, counts.TimingLog / 100,
            Share(onThree, Voice.Backbeat), tempo > 0.3 ? Share(onThree, Voice.Backbeat) : 0, sinceOne <= BarSlots.PerBeat || sinceOne >= perBar - BarSlots.PerBeat ? 1 : 0,
            last == 0 ? 1 : 0, last % BarSlots.PerBeat == 0 ? 1 : 0, kindTempo,
            .. BeatMasks.Of(strokes, counts.SlotOf, meter).Evidence(strokes, counts.SlotOf), .. counts.Intervals,
            .. AccentEvidence.Of(strokes, counts.SlotOf, meter.BeatsPerBar), wholeTempo,
            tempo * Share(onEven, Voice.Backbeat), tempo * Share(onThree, Voice.Backbeat), tempo * counts.Intervals[IntervalEvidence.BetweenBackbeats], tempo * Share(onBeat, Voice.Kick),
            .. PhraseEvidence.Of(strokes, counts.SlotOf, meter.BeatsPerBar),
            .. new double[Unexplained],
        ];
    }
}
