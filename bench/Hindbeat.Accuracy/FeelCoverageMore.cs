using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Tests.Feel;
using Hindbeat.Units;

namespace Hindbeat.Accuracy;

/// <summary>
/// The same question as <see cref="FeelCoverage"/> for figures that a plain groove does not have: flams of a drawn width, hats
/// opened with a drawn chance, a swing that changes with the tempo by a drawn slope, and a shuffle of which a drawn share of beats is written in triplets because the middle one is struck.
/// </summary>
internal static class FeelCoverageMore
{
    private static readonly Fraction E = new(1, 4), And = new(1, 2), A = new(3, 4);

    public static void Print(TextWriter output, int draws)
    {
        var held = new SortedDictionary<string, (int Held, int All)>(StringComparer.Ordinal);
        object gate = new();
        Parallel.For(0, draws, new ParallelOptions { MaxDegreeOfParallelism = Environment.ProcessorCount }, draw =>
        {
            var random = new Random(177_000 + draw);
            List<(string, Estimate, double)> judged = [.. FlamsAndHats(random, draw), .. Slope(random, draw), .. Triplets(random, draw)];
            lock (gate)
            {
                foreach ((string figure, Estimate estimate, double truth) in judged)
                {
                    (int inside, int all) = held.GetValueOrDefault(figure);
                    held[figure] = (inside + (estimate.Low <= truth && truth <= estimate.High ? 1 : 0), all + 1);
                }
            }
        });

        var table = new Table("figure", "interval holds truth", "intervals");
        foreach ((string figure, (int inside, int all)) in held)
            table.Add(figure, string.Create(CultureInfo.InvariantCulture, $"{100.0 * inside / all:0.0} %"), all.ToString(CultureInfo.InvariantCulture));
        output.WriteLine(FormattableString.Invariant($"## 95 % intervals of rarer figures, {draws} invented passages each"));
        output.WriteLine();
        output.WriteLine(table);
    }

    /// <summary>Half of the backbeats get a grace stroke, normally spread around the drawn width; hats on the "&amp;" open by chance.</summary>
    private static IEnumerable<(string, Estimate, double)> FlamsAndHats(Random random, int draw)
    {
        var feel = new InventedFeel { Tempo = 65 + (75 * random.NextDouble()), Bars = 4 + random.Next(29), Missing = 0.1 * random.NextDouble() };
        feel.Groove();
        foreach (KitPiece piece in new[] { KitPiece.HatClosed, KitPiece.Snare, KitPiece.Kick })
            feel.LoosenessMs[piece] = 3 + (9 * random.NextDouble());
        double width = 15 + (20 * random.NextDouble()), spread = 1 + (3 * random.NextDouble()), open = 0.2 + (0.6 * random.NextDouble());
        Performance plain = feel.Make(random);
        var hits = new List<Hit>();
        foreach (Hit hit in plain.Hits)
        {
            bool offHat = hit.Piece == KitPiece.HatClosed && hit.Position!.Value.Within == And;
            hits.Add(offHat && random.NextDouble() < open ? hit with { Piece = KitPiece.HatOpen } : hit);
            if (hit.Piece == KitPiece.Snare && hit.Position!.Value.Within == 0 && random.NextDouble() < 0.5)
                hits.Add(hit with { Time = hit.Time - Seconds.FromMilliseconds(Math.Max(1, width + (spread * InventedFeel.Normal(random)))), Level = Level.FromDbfs(hit.Level.Dbfs - 9) });
        }

        FeelReport report = FeelAnalysis.Measure(new Performance(plain.Pulse, hits.OrderBy(hit => hit.Time)), new FeelOptions { Seed = (ulong)draw });
        foreach (FlamFigure figure in report.Flams)
            yield return ("flams", figure.WidthMs, width);
        foreach (OpennessFigure figure in report.Openness)
            yield return ("open hats", figure.Percent, 100 * open);
    }

    /// <summary>
    /// A shuffle: hats on beats and swung off-beats, in some beats ghosts between them at the sounding third, so that the beat's off-beat is written on the
    /// last third. Swing and lay-back are the same in both writings.
    /// </summary>
    private static IEnumerable<(string, Estimate, double)> Triplets(Random random, int draw)
    {
        double ratio = 1.5 + (0.8 * random.NextDouble()), share = 0.1 + (0.6 * random.NextDouble());
        var feel = new InventedFeel { Tempo = 65 + (75 * random.NextDouble()), Bars = 4 + random.Next(29), Swing8 = ratio, Missing = 0.1 * random.NextDouble(), Misheard = 0.02 * random.NextDouble() };
        feel.PlayEvery(KitPiece.HatClosed, -20, 0, And).Play(KitPiece.Snare, -10, (2, 0), (4, 0)).Play(KitPiece.Kick, -8, (1, 0), (3, 0), (2, And), (4, And));
        foreach (KitPiece piece in new[] { KitPiece.HatClosed, KitPiece.Snare, KitPiece.Kick })
            feel.LoosenessMs[piece] = 3 + (9 * random.NextDouble());
        feel.LayBackMs[KitPiece.Kick] = 40 * (random.NextDouble() - 0.4);
        Performance plain = feel.Make(random);
        HashSet<(int, int)> triplets = [.. Enumerable.Range(1, feel.Bars).SelectMany(bar => Enumerable.Range(1, 4).Select(beat => (bar, beat))).Where(_ => random.NextDouble() < share)];
        List<Hit> hits = [.. plain.Hits.Select(hit => hit.Position is { } place && place.Within == And && triplets.Contains((place.Bar, place.Beat))
            ? hit with { Position = new BarPosition(place.Bar, place.Beat, new Fraction(2, 3)) } : hit)];
        foreach ((int bar, int beat) in triplets)
        {
            BarPosition middle = new(bar, beat, new Fraction(1, 3));
            hits.Add(new Hit(plain.Pulse.TimeAt(middle) + Seconds.FromMilliseconds(feel.LoosenessMs[KitPiece.Snare] * InventedFeel.Normal(random)), KitPiece.Snare, 30, Level.FromDbfs(-28), 1) { Position = middle });
        }

        FeelReport report = FeelAnalysis.Measure(new Performance(plain.Pulse, hits.OrderBy(hit => hit.Time)), new FeelOptions { Seed = (ulong)draw });
        SwingFigure[] eighths = [.. report.Swing.Where(figure => figure.Level == SwingLevel.Eighth && figure.DelayMs.HalfWidth > 0 && !figure.Doubts.OfType<SwingAndLayBackMixed>().Any())];
        foreach (SwingFigure figure in eighths)
            yield return ($"swing of 8ths, some in triplets, {(figure == eighths[0] ? "all" : figure.Pieces[0].Name())}", figure.Ratio, ratio);
        foreach (LayBackFigure figure in report.LayBack.Where(figure => figure.Identified && figure.Piece == KitPiece.Kick && report.Reference == FeelReference.TimekeepingHand))
            yield return ("lay-back of the kick, some in triplets", figure.Milliseconds, feel.LayBackMs[KitPiece.Kick]);
    }

    /// <summary>A passage that gains a fifth to two fifths of its tempo, its 16ths swinging less (or more) by a drawn slope.</summary>
    private static IEnumerable<(string, Estimate, double)> Slope(Random random, int draw)
    {
        double tempo = 75 + (50 * random.NextDouble()), swing = 1.3 + (0.4 * random.NextDouble()), perBpm = 0.02 * (random.NextDouble() - 0.5);
        int bars = 24 + random.Next(41);
        double minutes = bars * 4 / tempo, drift = tempo * (0.2 + (0.2 * random.NextDouble())) / minutes;
        var feel = new InventedFeel { Tempo = tempo, Bars = bars, Drift = drift, Swing16 = swing, Missing = 0.1 * random.NextDouble() };
        feel.PlayEvery(KitPiece.HatClosed, -20, 0, E, And, A).Play(KitPiece.Snare, -10, (2, 0), (4, 0)).Play(KitPiece.Kick, -8, (1, 0), (3, 0));
        foreach (KitPiece piece in new[] { KitPiece.HatClosed, KitPiece.Snare, KitPiece.Kick })
            feel.LoosenessMs[piece] = 3 + (9 * random.NextDouble());
        Performance plain = feel.Make(random);
        Pulse pulse = plain.Pulse;
        double mean = pulse.MeanTempo.Value;
        IEnumerable<Hit> bent = plain.Hits.Select(hit =>
        {
            if (hit.Position!.Value.Within != E && hit.Position.Value.Within != A)
                return hit;
            double half = pulse.BeatLengthAt(pulse.TimeAt(hit.Position.Value)).Value / 4, there = swing + (perBpm * ((15 / half) - mean));
            return hit with { Time = hit.Time + Seconds.Of(half * (((there - 1) / (there + 1)) - ((swing - 1) / (swing + 1)))) };
        });
        foreach (SwingAgainstTempo slope in FeelAnalysis.Measure(new Performance(pulse, bent), new FeelOptions { Seed = (ulong)draw }).SwingAgainstTempo.Where(slope => slope.Level == SwingLevel.Sixteenth))
            yield return ("swing against tempo", slope.PerTenBpm, 10 * perBpm);
    }
}
