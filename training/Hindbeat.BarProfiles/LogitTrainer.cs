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
    private const double Ridge = 0.3;
    private const int Rivals = 80;
    private const int Steps = 600;

    public static void Run(string folder, string split, int passagesPerTake, int every)
    {
        List<(double[][] Evidence, bool[] Right)> cases = [];
        int withoutTruth = 0;
        Random random = new(3);
        int take = 0;
        foreach (string line in File.ReadLines(Path.Combine(folder, "info.csv")).Skip(1))
        {
            string[] cells = line.Split(',');
            if (cells[9] != split || cells[5] != "beat" || ++take % every != 0)
                continue;
            KitMidi kit = KitMidiFile.Read(Path.Combine(folder, cells[7]));
            for (int p = 0; p < passagesPerTake; p++)
            {
                Hit[]? hits = Passage(kit, random, p);
                if (hits is null)
                    continue;
                StrokeTrain strokes = StrokeTrain.From(hits);
                IReadOnlyList<Reading> readings = Readings.Score(strokes, BasePaths.Find(strokes, null, null), new PulseOptions());
                // The true readings and the strongest rivals: the rest has no weight in the sum.
                readings = [.. readings.Where((reading, rank) => rank < Rivals || IsRight(reading, kit.Grid, strokes))];
                bool[] right = [.. readings.Select(reading => IsRight(reading, kit.Grid, strokes))];
                if (!right.Any(r => r))
                {
                    withoutTruth++;
                    Console.Error.WriteLine($"no true reading: {cells[7]} part {p}");
                    continue;
                }

                cases.Add(([.. readings.Select(reading => reading.Evidence)], right));
            }
        }

        double[] weights = Learn(cases);
        Console.Error.WriteLine($"{withoutTruth} passages without a true reading");
        for (int i = 0; i < weights.Length; i++)
            Console.Error.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{ReadingEvidence.Names[i],-32} {weights[i],8:0.000}"));
        Console.WriteLine(string.Join(", ", weights.Select(w => w.ToString("0.000", CultureInfo.InvariantCulture))));
    }

    /// <summary>A whole take first, then random parts of 2 to 40 bars, most of them starting on a downbeat, with a listener's faults.</summary>
    private static Hit[]? Passage(KitMidi kit, Random random, int part)
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
        if (part % 2 == 1)
        {
            hits = [.. hits.Where(_ => random.NextDouble() > 0.05).Select(hit => hit with { Time = hit.Time + Seconds.FromMilliseconds((random.NextDouble() - 0.5) * 7) })];
            for (int extra = hits.Count / 20; extra > 0; extra--)
                hits.Add(hits[random.Next(hits.Count)] with { Time = AudioTime.FromSeconds(start + (random.NextDouble() * length)), Velocity = 30 + random.Next(60) });
        }

        return hits.Count < 8 ? null : [.. hits.OrderBy(hit => hit.Time)];
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

    /// <summary>Adam on the mean log probability of the true readings; numbers are scaled by their spread within passages.</summary>
    private static double[] Learn(List<(double[][] Evidence, bool[] Right)> cases)
    {
        int n = ReadingEvidence.Names.Length;
        double[] scale = new double[n];
        for (int i = 0; i < n; i++)
        {
            double squares = 0;
            foreach ((double[][] evidence, _) in cases)
            {
                double mean = evidence.Average(e => e[i]);
                squares += evidence.Average(e => (e[i] - mean) * (e[i] - mean));
            }

            scale[i] = Math.Sqrt((squares / cases.Count) + 1e-12);
        }

        foreach ((double[][] evidence, _) in cases)
        {
            foreach (double[] numbers in evidence)
            {
                for (int i = 0; i < n; i++)
                    numbers[i] /= scale[i];
            }
        }

        double[] w = new double[n];
        double[] m = new double[n];
        double[] v = new double[n];
        for (int step = 1; step <= Steps; step++)
        {
            double[] gradient = new double[n];
            Parallel.ForEach(cases, () => new double[n], (c, _, local) =>
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
                double g = (gradient[i] - (Ridge * w[i])) / cases.Count;
                m[i] = (0.9 * m[i]) + (0.1 * g);
                v[i] = (0.99 * v[i]) + (0.01 * g * g);
                w[i] += 0.02 * (m[i] / (1 - Math.Pow(0.9, step))) / (Math.Sqrt(v[i] / (1 - Math.Pow(0.99, step))) + 1e-8);
            }
        }

        Console.Error.WriteLine($"{cases.Count(c => c.Right[Best(c.Evidence, w)])} of {cases.Count} passages read right");
        return [.. w.Select((value, i) => value / scale[i])];
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
