using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Units;

namespace Hindbeat.Training;

/// <summary>
/// Learns the weights that readings are compared by: passages cut out of the takes, every reading of each, and the
/// weights that make the true ones most probable (conditional logit, gradient ascent with a ridge).
/// </summary>
internal static class LogitTrainer
{
    private const int Folds = 3;
    private const int Rivals = 50;
    private const int Steps = 300;

    public static void Run(string folder, string split, int passagesPerTake)
    {
        string[][] takes = [.. File.ReadLines(Path.Combine(folder, "info.csv")).Skip(1).Select(line => line.Split(',')).Where(cells => cells[9] == split && cells[5] == "beat")];
        Case?[] all = new Case?[takes.Length * passagesPerTake];
        Parallel.For(0, all.Length, new ParallelOptions { MaxDegreeOfParallelism = 2 }, i =>
            all[i] = CaseOf(KitMidiFile.Read(Path.Combine(folder, takes[i / passagesPerTake][7])), i / passagesPerTake, i % passagesPerTake));
        Case[] cases = [.. all.OfType<Case>().Where(c => c.Right.Length > 0)];
        int lost = cases.Count(c => !c.Right.Any(r => r));
        Console.Error.WriteLine($"{lost} of {cases.Length} passages without a true reading");
        cases = [.. cases.Where(c => c.Right.Any(r => r))];
        double[] scale = Scale(cases);

        // Held-out takes choose the ridge.
        double best = double.NegativeInfinity;
        double ridge = 0;
        foreach (double tried in (double[])[2, 10, 40])
        {
            int right = 0;
            double log = 0;
            for (int fold = 0; fold < Folds; fold++)
            {
                double[] w = Learn([.. cases.Where(c => c.Take % Folds != fold)], tried);
                foreach (Case c in cases.Where(c => c.Take % Folds == fold))
                {
                    right += c.Right[Best(c.Evidence, w)] ? 1 : 0;
                    log += LogChance(c, w);
                }
            }

            Console.Error.WriteLine(string.Create(CultureInfo.InvariantCulture, $"ridge {tried}: {right} of {cases.Length} held-out passages read right, {log / cases.Length:0.000} nats each"));
            if (log > best)
                (best, ridge) = (log, tried);
        }

        double[] weights = Learn(cases, ridge);
        Console.Error.WriteLine($"ridge {ridge}: {cases.Count(c => c.Right[Best(c.Evidence, weights)])} of {cases.Length} passages read right");
        Console.WriteLine("# Weights of ReadingEvidence, learned by training/Hindbeat.BarProfiles from the train split of the Groove MIDI Dataset 1.0.0 (Google LLC, CC BY 4.0).");
        for (int i = 0; i < weights.Length; i++)
            Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{weights[i] / scale[i]:0.####} {ReadingEvidence.Names[i]}"));
    }

    private sealed record Case(int Take, double[][] Evidence, bool[] Right);

    private static Case? CaseOf(KitMidi kit, int take, int part)
    {
        Hit[]? hits = TrainingPassage.Of(kit, new Random((take * 31) + part), part);
        if (hits is null)
            return null;
        StrokeTrain strokes = StrokeTrain.From(hits);
        IReadOnlyList<Reading> readings = Readings.Score(strokes, BasePaths.Find(strokes, null, null), new PulseOptions());
        bool[] right = [.. readings.Select(reading => IsRight(reading, kit.Grid, strokes))];
        // The true readings and the strongest rivals: the rest has no weight in the sum.
        int[] kept = [.. Enumerable.Range(0, readings.Count).Where(rank => rank < Rivals || right[rank])];
        return new Case(take, [.. kept.Select(k => readings[k].Evidence)], [.. kept.Select(k => right[k])]);
    }

    /// <summary>True when beats and bar line agree with the take's grid, at both ends of the passage.</summary>
    private static bool IsRight(Reading reading, Pulse grid, StrokeTrain strokes)
    {
        if (reading.Meter != grid.Meter || Math.Abs(Math.Log(reading.Bpm / grid.MeanTempo.Value)) > 0.03)
            return false;
        int perBar = grid.Meter.BeatsPerBar;
        foreach (double share in (double[])[0.15, 0.5, 0.85])
        {
            double time = strokes.Start + (share * (strokes.End - strokes.Start));
            double mine = (reading.Path.PlaceAt(time) - reading.Downbeat) / reading.Beat;
            double off = (mine - grid.BeatsAt(AudioTime.FromSeconds(time))) / perBar;
            if (Math.Abs(off - Math.Round(off)) * perBar > 0.17)
                return false;
        }

        return true;
    }

    private static int Best(double[][] evidence, double[] weights)
    {
        int best = 0;
        double top = double.NegativeInfinity;
        for (int r = 0; r < evidence.Length; r++)
        {
            double value = Dot(evidence[r], weights);
            if (value > top)
                (top, best) = (value, r);
        }

        return best;
    }

    private static double LogChance(Case c, double[] w)
    {
        double[] scores = [.. c.Evidence.Select(e => Dot(e, w))];
        double top = scores.Max();
        return Math.Log(Math.Max(1e-12, scores.Where((_, r) => c.Right[r]).Sum(s => Math.Exp(s - top)) / scores.Sum(s => Math.Exp(s - top))));
    }

    /// <summary>Numbers are divided by their spread within passages, in place.</summary>
    private static double[] Scale(Case[] cases)
    {
        int n = ReadingEvidence.Names.Length;
        double[] scale = new double[n];
        for (int i = 0; i < n; i++)
        {
            double squares = 0;
            foreach (Case c in cases)
            {
                double mean = c.Evidence.Average(e => e[i]);
                squares += c.Evidence.Average(e => (e[i] - mean) * (e[i] - mean));
            }

            scale[i] = Math.Sqrt((squares / cases.Length) + 1e-9);
        }

        foreach (double[] numbers in cases.SelectMany(c => c.Evidence))
        {
            for (int i = 0; i < n; i++)
                numbers[i] /= scale[i];
        }

        return scale;
    }

    /// <summary>Adam on the mean log probability of the true readings.</summary>
    private static double[] Learn(Case[] cases, double ridge)
    {
        int n = ReadingEvidence.Names.Length;
        double[] w = new double[n];
        double[] m = new double[n];
        double[] v = new double[n];
        for (int step = 1; step <= Steps; step++)
        {
            double[] gradient = new double[n];
            Parallel.ForEach(cases, new ParallelOptions { MaxDegreeOfParallelism = 2 }, () => new double[n], (c, _, local) =>
            {
                AddGradient(c.Evidence, c.Right, w, local);
                return local;
            }, local =>
            {
                lock (gradient)
                {
                    for (int i = 0; i < n; i++)
                        gradient[i] += local[i];
                }
            });
            for (int i = 0; i < n; i++)
            {
                double g = (gradient[i] - (ridge * w[i])) / cases.Length;
                m[i] = (0.9 * m[i]) + (0.1 * g);
                v[i] = (0.99 * v[i]) + (0.01 * g * g);
                w[i] += 0.03 * (m[i] / (1 - Math.Pow(0.9, step))) / (Math.Sqrt(v[i] / (1 - Math.Pow(0.99, step))) + 1e-8);
            }
        }

        return w;
    }

    private static void AddGradient(double[][] evidence, bool[] right, double[] w, double[] gradient)
    {
        double[] scores = new double[evidence.Length];
        double top = double.NegativeInfinity;
        for (int r = 0; r < evidence.Length; r++)
        {
            for (int i = 0; i < w.Length; i++)
                scores[r] += w[i] * evidence[r][i];
            top = Math.Max(top, scores[r]);
        }

        double all = 0;
        double good = 0;
        for (int r = 0; r < scores.Length; r++)
        {
            scores[r] = Math.Exp(scores[r] - top);
            all += scores[r];
            if (right[r])
                good += scores[r];
        }

        for (int r = 0; r < scores.Length; r++)
        {
            double pull = (right[r] ? scores[r] / Math.Max(good, 1e-300) : 0) - (scores[r] / all);
            for (int i = 0; i < w.Length; i++)
                gradient[i] += pull * evidence[r][i];
        }
    }

    private static double Dot(double[] a, double[] b)
    {
        double sum = 0;
        for (int i = 0; i < a.Length; i++)
            sum += a[i] * b[i];
        return sum;
    }
}
