using Hindbeat.Feel;
using Hindbeat.Performances;

namespace Hindbeat.Tests.Feel;

/// <summary>
/// 95 % intervals must hold the truth about 95 times in 100, on passages played by a formula that the analysis does
/// not share. 300 draws have a standard error of 1.3 %: 91 to 98.5 % is about three of them around the 93 to 97 % aimed at
/// (2,000 draws: docs/decisions/feel-intervals.md).
/// </summary>
public class CoverageTests
{
    private const int Draws = 300;

    [Fact]
    public void Intervals_hold_the_truth_and_straight_is_rarely_called_swung()
    {
        var held = new Dictionary<string, (int Held, int All)>();
        int straight = 0, falselySwung = 0;
        for (int draw = 0; draw < Draws; draw++)
        {
            var random = new Random(5000 + draw);
            bool even = draw % 2 == 0;
            var feel = new InventedFeel
            {
                Tempo = 70 + (60 * random.NextDouble()), Bars = 5 + random.Next(6), Swing16 = even ? 1 : 1.1 + random.NextDouble(),
                Drift = 10 * (random.NextDouble() - 0.5), Missing = 0.15 * random.NextDouble(),
            };
            feel.Groove();
            foreach (KitPiece piece in new[] { KitPiece.HatClosed, KitPiece.Snare, KitPiece.Kick })
                feel.LoosenessMs[piece] = 3 + (9 * random.NextDouble());
            feel.LayBackMs[KitPiece.Kick] = 40 * (random.NextDouble() - 0.4);
            feel.LayBackMs[KitPiece.Snare] = 30 * (random.NextDouble() - 0.3);
            FeelReport report = FeelAnalysis.Measure(feel.Make(random), new FeelOptions { Seed = (ulong)draw });

            SwingFigure swing = report.Swing.First(figure => figure.Level == SwingLevel.Sixteenth);
            Note("swing", swing.Ratio, feel.Swing16);
            straight += even ? 1 : 0;
            falselySwung += even && swing.Verdict == SwingVerdict.Swung ? 1 : 0;
            foreach (LayBackFigure layBack in report.LayBack.Where(figure => figure.Identified && report.Reference == FeelReference.TimekeepingHand))
                Note("lay-back", layBack.Milliseconds, feel.LayBackMs[layBack.Piece]);
            foreach (LoosenessFigure looseness in report.Looseness)
                Note("looseness", looseness.Milliseconds, feel.LoosenessMs[looseness.Piece]);
            foreach (TouchFigure touch in report.Touch.Where(touch => touch.Piece == KitPiece.Snare))
                Note("touch", touch.Level, touch.Within == 0 ? -10 : -28);
            Note("drift", report.Tempo.DriftBpmPerMinute, feel.Drift);
        }

        foreach ((string figure, (int inside, int all)) in held)
            Assert.True((double)inside / all is > 0.91 and < 0.985, $"{figure}: {100.0 * inside / all:0.0} % of {all} intervals hold the truth");
        Assert.True(falselySwung <= 0.05 * straight, $"{falselySwung} of {straight} straight passages were called swung");

        void Note(string figure, Estimate estimate, double truth)
        {
            (int inside, int all) = held.GetValueOrDefault(figure);
            held[figure] = (inside + (estimate.Low <= truth && truth <= estimate.High ? 1 : 0), all + 1);
        }
    }
}
