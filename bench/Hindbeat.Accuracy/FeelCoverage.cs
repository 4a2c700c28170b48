using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Tests.Feel;
using Hindbeat.Units;

namespace Hindbeat.Accuracy;

/// <summary>
/// How often do the 95 % intervals of the feel hold the truth? Invented passages (tempo, bars, drift, looseness,
/// missing and misheard strokes, habits, a common wander of the bars all drawn) are measured, and the true figures,
/// known from the formula that placed the strokes, are looked for inside the intervals.
/// </summary>
internal static class FeelCoverage
{
    private static readonly KitPiece[] Pieces = [KitPiece.HatClosed, KitPiece.Snare, KitPiece.Kick];
    private static readonly string[] Groups = ["4–7 bars", "8–15 bars", "16–32 bars"];

    public static void Print(TextWriter output, int draws)
    {
        var held = new SortedDictionary<string, int[]>(StringComparer.Ordinal);
        int straight = 0, falselySwung = 0, swung = 0, found = 0;
        object gate = new();
        Parallel.For(0, draws, new ParallelOptions { MaxDegreeOfParallelism = Environment.ProcessorCount }, draw =>
        {
            var random = new Random(77_000 + draw);
            (InventedFeel feel, int bars) = Draw(random);
            Performance performance = feel.Make(random);
            FeelReport report = FeelAnalysis.Measure(performance, new FeelOptions { Seed = (ulong)draw });
            lock (gate)
            {
                int group = bars < 8 ? 0 : bars < 16 ? 1 : 2;
                Judge(report, feel, (figure, estimate, truth) => Note(held, figure, group, estimate, truth));
                SwingFigure? whole = report.Swing.FirstOrDefault(figure => figure.Level == SwingLevel.Sixteenth);
                bool isSwung = whole?.Verdict == SwingVerdict.Swung;
                (straight, falselySwung) = feel.Swing16 == 1 ? (straight + 1, falselySwung + (isSwung ? 1 : 0)) : (straight, falselySwung);
                (swung, found) = feel.Swing16 >= 1.1 ? (swung + 1, found + (isSwung ? 1 : 0)) : (swung, found);
            }
        });

        var table = new Table(["figure", "all", .. Groups, "intervals"]);
        foreach ((string figure, int[] counts) in held)
        {
            int all = counts[1] + counts[3] + counts[5];
            table.Add([figure, Share(counts[0] + counts[2] + counts[4], all), Share(counts[0], counts[1]), Share(counts[2], counts[3]), Share(counts[4], counts[5]), all.ToString(CultureInfo.InvariantCulture)]);
        }

        output.WriteLine(FormattableString.Invariant($"## 95 % intervals that hold the truth, {draws} invented passages"));
        output.WriteLine();
        output.WriteLine(table);
        output.WriteLine(FormattableString.Invariant($"Truly straight 16ths called swung: {falselySwung} of {straight} ({100.0 * falselySwung / straight:0.00} %). 16ths of 1.1 : 1 and more found to swing: {found} of {swung} ({100.0 * found / swung:0.0} %)."));
    }

    private static (InventedFeel Feel, int Bars) Draw(Random random)
    {
        int bars = 4 + random.Next(29);
        double swing16 = random.NextDouble() < 0.4 ? 1 : 1.05 + random.NextDouble();
        var feel = new InventedFeel
        {
            Tempo = 65 + (75 * random.NextDouble()),
            Bars = bars,
            Swing16 = swing16,
            Drift = 12 * (random.NextDouble() - 0.5),
            Missing = 0.15 * random.NextDouble(),
            Misheard = 0.02 * random.NextDouble(),
            BarWanderMs = 2 * random.NextDouble(),
        };
        feel.Groove();
        foreach (KitPiece piece in Pieces)
            feel.LoosenessMs[piece] = 3 + (12 * random.NextDouble());
        feel.LayBackMs[KitPiece.Kick] = 40 * (random.NextDouble() - 0.4);
        feel.LayBackMs[KitPiece.Snare] = 30 * (random.NextDouble() - 0.3);
        // A snare late on 2 and as early on 4 has a habit and no other lay-back.
        double habit = random.NextDouble() < 0.5 ? 0 : 12 * random.NextDouble();
        feel.HabitMs[(KitPiece.Snare, 2, Fraction.Zero)] = habit;
        feel.HabitMs[(KitPiece.Snare, 4, Fraction.Zero)] = -habit;
        return (feel, bars);
    }

    private static void Judge(FeelReport report, InventedFeel feel, Action<string, Estimate, double> note)
    {
        foreach (SwingFigure figure in report.Swing.Where(figure => figure.DelayMs.HalfWidth > 0 && !figure.Doubts.OfType<SwingAndLayBackMixed>().Any()))
        {
            string level = figure.Level == SwingLevel.Eighth ? "swing of 8ths" : "swing of 16ths";
            bool all = ReferenceEquals(report.Swing.First(other => other.Level == figure.Level), figure);
            note($"{level}, {(all ? "all" : figure.Pieces[0].Name())}", figure.Ratio, figure.Level == SwingLevel.Eighth ? 1 : feel.Swing16);
        }

        bool hats = report.Reference == FeelReference.TimekeepingHand;
        foreach (LayBackFigure figure in report.LayBack.Where(figure => figure.Identified && hats))
            note($"lay-back, {figure.Piece.Name()}", figure.Milliseconds, feel.LayBackMs[figure.Piece]);
        // Wander faster than eight beats counts as looseness (docs/measures/looseness.md).
        foreach (LoosenessFigure figure in report.Looseness)
            note($"looseness, {figure.Piece.Name()}", figure.Milliseconds, Math.Sqrt(Math.Pow(feel.LoosenessMs[figure.Piece], 2) + Math.Pow(feel.BarWanderMs, 2)));
        foreach (PlaceFigure figure in report.Places.Where(figure => hats && !figure.Swings && figure.Piece != KitPiece.HatClosed && figure.Within == 0))
        {
            double habit = feel.HabitMs.GetValueOrDefault((figure.Piece, figure.Beat, figure.Within));
            note("places", figure.Milliseconds, feel.LayBackMs[figure.Piece] + habit);
            if (figure.HabitKnown)
                note("habits", figure.Habit, habit);
        }

        foreach (TouchFigure figure in report.Touch.Where(touch => touch.Piece == KitPiece.Snare))
            note("touch", figure.Level, figure.Within == 0 ? -10 : -28);
        foreach (TouchFigure figure in report.Touch.Where(touch => touch.Piece == KitPiece.Snare && touch.Accent is not null))
        {
            // Two full and two soft places, struck equally often: the mean lies in the middle.
            note("accents", figure.Accent!.Value, figure.Within == 0 ? 9 : -9);
        }

        foreach (GhostFigure figure in report.Ghosts)
            note("ghosts", figure.Decibels, 18);
        foreach (TogetherFigure figure in report.Together)
        {
            double both = Math.Sqrt(Math.Pow(feel.LoosenessMs[figure.First], 2) + Math.Pow(feel.LoosenessMs[figure.Second], 2));
            note($"together, {figure.First.Name()} and {figure.Second.Name()}", figure.SpreadMs, both);
        }

        foreach (MemoryFigure figure in report.Memory)
        {
            note("stroke to stroke", figure.IntervalSpreadMs, Math.Sqrt(2) * feel.LoosenessMs[figure.Stream]);
            note("carry-over", figure.LagOne, -0.5);
        }

        foreach (LoudAndLateFigure figure in report.LoudAndLate)
            note("loud and late", figure.MsPer10Db, 0);
        foreach (SwingWindow window in report.SwingOverTime.Where(window => window.Level == SwingLevel.Sixteenth))
            note("swing over time", window.Ratio, feel.Swing16);
        note("tempo drift", report.Tempo.DriftBpmPerMinute, feel.Drift);
    }

    private static void Note(SortedDictionary<string, int[]> held, string figure, int group, Estimate estimate, double truth)
    {
        if (!held.TryGetValue(figure, out int[]? counts))
            held[figure] = counts = new int[2 * Groups.Length];
        counts[2 * group] += estimate.Low <= truth && truth <= estimate.High ? 1 : 0;
        counts[(2 * group) + 1]++;
    }

    private static string Share(int inside, int all) =>
        all == 0 ? "–" : string.Create(CultureInfo.InvariantCulture, $"{100.0 * inside / all:0.0} %");
}
