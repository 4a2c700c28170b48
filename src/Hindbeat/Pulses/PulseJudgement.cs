using System.Globalization;
using Hindbeat.Performances;

namespace Hindbeat.Pulses;

/// <summary>How sure the best reading is, beside the others.</summary>
/// <param name="Best">The most probable reading.</param>
/// <param name="Confidence">Probability in [0, 1] that tempo, bar line and meter are right.</param>
internal sealed record PulseJudgement(Reading Best, double Confidence, string? RunnerUp, IReadOnlyList<Doubt> Doubts)
{
    /// <summary>A rival this likely is told.</summary>
    private const double DoubtShare = 0.2;

    /// <summary>Readings this much less likely than the best (nats) change no probability.</summary>
    private const double Negligible = 12;

    /// <param name="readings">Best first, at least one.</param>
    public static PulseJudgement Of(IReadOnlyList<Reading> readings, StrokeTrain strokes)
    {
        double top = readings[0].Score;
        List<(Reading Reading, double Weight)> rivals = [];
        foreach (Reading reading in readings.TakeWhile(reading => reading.Score > top - Negligible))
        {
            // One way to count may be found along several paths; its chances add up.
            int same = rivals.FindIndex(rival => SameBeats(rival.Reading, reading) && SameBars(rival.Reading, reading));
            double weight = Math.Exp(reading.Score - top);
            if (same >= 0)
                rivals[same] = (rivals[same].Reading, rivals[same].Weight + weight);
            else
                rivals.Add((reading, weight));
        }

        // The best reading stays first: how often one is found is the search's doing, and adding up must not turn a toss-up.
        rivals.Sort(1, rivals.Count - 1, Comparer<(Reading Reading, double Weight)>.Create((a, b) => b.Weight.CompareTo(a.Weight)));
        Reading best = rivals[0].Reading;
        double total = rivals.Sum(rival => rival.Weight);
        List<Doubt> doubts = [];
        Reading? otherTempo = Strong(rivals, total, other => !SameTempo(best, other));
        Reading? otherMeter = Strong(rivals, total, other => SameTempo(best, other) && other.Meter != best.Meter);
        Reading? otherPhase = Strong(rivals, total, other => SameTempo(best, other) && other.Meter == best.Meter);
        if (otherTempo is not null)
            doubts.Add(new TempoUnsure(best.Bpm, otherTempo.Bpm));
        if (otherMeter is not null)
            doubts.Add(new MeterUnsure(best.Meter, otherMeter.Meter));
        if (otherPhase is not null)
            doubts.Add(new BarPhaseUnsure(BeatsLater(best, otherPhase)));
        double bars = (strokes.End - strokes.Start) * best.Bpm / 60 / best.Meter.BeatsPerBar;
        if (bars < 4)
            doubts.Add(new FewBars(bars));
        return new PulseJudgement(best, rivals[0].Weight / total, rivals.Count > 1 ? Describe(best, rivals[1].Reading) : null, doubts);
    }

    private static Reading? Strong(List<(Reading Reading, double Weight)> rivals, double total, Func<Reading, bool> kind)
    {
        double share = rivals.Skip(1).Where(rival => kind(rival.Reading)).Sum(rival => rival.Weight) / total;
        return share < DoubtShare ? null : rivals.Skip(1).First(rival => kind(rival.Reading)).Reading;
    }

    private static string Describe(Reading best, Reading other)
    {
        string tempo = string.Create(CultureInfo.InvariantCulture, $"{other.Bpm:0.#} bpm");
        if (!SameTempo(best, other))
        {
            double ratio = other.Bpm / best.Bpm;
            string relation = ratio switch
            {
                > 1.92 and < 2.08 => "twice as fast",
                > 0.48 and < 0.52 => "half as fast",
                > 1.45 and < 1.55 => "three beats for two",
                > 0.64 and < 0.69 => "two beats for three",
                > 2.9 and < 3.1 => "three times as fast",
                > 0.32 and < 0.345 => "a third as fast",
                _ => "another beat",
            };
            return $"{tempo} in {other.Meter}, {relation}";
        }

        return other.Meter != best.Meter
            ? $"{tempo} in {other.Meter}"
            : string.Create(CultureInfo.InvariantCulture, $"{tempo} in {other.Meter}, bar line {PulseDoubtWords.Beats(BeatsLater(best, other))} later");
    }

    private static bool SameTempo(Reading a, Reading b) => Math.Abs(Math.Log(a.Bpm / b.Bpm)) < 0.03;

    private static bool SameBeats(Reading a, Reading b) =>
        SameTempo(a, b) && Math.Abs(Nearest(BeatsLater(a, b), 1)) < 0.15;

    private static bool SameBars(Reading a, Reading b) =>
        a.Meter == b.Meter && Math.Abs(Nearest(BeatsLater(a, b), a.Meter.BeatsPerBar)) < 0.15;

    /// <summary>How many of a's beats b's bar line lies behind a's, in [0, bar), judged mid-passage where paths agree best.</summary>
    private static double BeatsLater(Reading a, Reading b)
    {
        double middle = b.Path.Places.Length == 0 ? 0 : b.Path.Places[b.Path.Places.Length / 2];
        double bar = b.Beat * b.Meter.BeatsPerBar;
        double downbeat = b.Downbeat + (Math.Round((middle - b.Downbeat) / bar) * bar);
        double beats = (a.Path.PlaceAt(b.Path.TimeAt(downbeat)) - a.Downbeat) / a.Beat;
        int perBar = a.Meter.BeatsPerBar;
        double later = beats - (Math.Floor(beats / perBar) * perBar);
        return later > perBar - 0.15 ? later - perBar : later;
    }

    private static double Nearest(double value, double step) => value - (Math.Round(value / step) * step);
}
