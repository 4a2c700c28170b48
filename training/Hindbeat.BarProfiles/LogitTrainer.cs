using System.Globalization;
using System.Numerics.Tensors;
using Hindbeat.Pulses;

namespace Hindbeat.Training;

/// <summary>
/// Learns the weights that readings are compared by: those that make the true readings most probable (conditional logit, Adam on small
/// batches with a ridge). The ridge is the one that reads most held-out takes right; the sharpness of the probabilities makes their
/// true readings most probable.
/// </summary>
internal static class LogitTrainer
{
    private const int Epochs = 30;
    private const int Batch = 24;
    private const double Rate = 0.003;

    /// <summary>Shares of meters among what is recorded on drum set (our judgement, no source); the data's own are set back to these.</summary>
    private static readonly (string Name, string[] Meters, double Share)[] Meters = [("3/4", ["3/4"], 0.05), ("6/8", ["6/8"], 0.04), ("other meter", ["5/4", "7/8"], 0.02)];

    private static readonly double[] Ridges = [0.01, 0.03, 0.1];

    /// <param name="Numbers">[reading][number], divided by its spread within passages.</param>
    private sealed record Scaled(PassageCase Passage, float[][] Numbers);

    public static string Run(PassageCase[] passages, bool verbose = false)
    {
        int lost = passages.Count(passage => !passage.Right.Any(right => right));
        float[] spread = Spread(passages);
        Scaled[] cases = [.. passages.Where(passage => passage.Right.Any(right => right)).Select(passage =>
            new Scaled(passage, [.. passage.Evidence.Select(numbers => numbers.Select((x, i) => x / spread[i]).ToArray())]))];
        (double Right, double Ridge, double Sharpness) best = (double.NegativeInfinity, 0, 1);
        foreach (double ridge in Ridges)
        {
            (Scaled Case, float[] Scores)[] heldOut = [.. Enumerable.Range(0, Take.Folds).SelectMany(fold =>
            {
                float[] learned = Learn([.. cases.Where(c => c.Passage.Fold != fold)], ridge);
                return cases.Where(c => c.Passage.Fold == fold).Select(c => (c, Scores(c, learned)));
            })];
            double sharpness = ((double[])[0.7, 0.8, 0.9, 1, 1.15, 1.3]).MaxBy(tried => heldOut.Average(c => LogChance(c.Case, c.Scores, tried)));
            double nats = heldOut.Average(c => LogChance(c.Case, c.Scores, sharpness));
            Console.Error.WriteLine(string.Create(CultureInfo.InvariantCulture, $"ridge {ridge}: {nats:0.000} nats, sharpness {sharpness}; {lost} more passages without a true reading"));
            Print(heldOut, verbose);
            // The mean ln of the chance hardly tells ridges apart (0.002 nats between 0.03 and 0.1); which reading comes first does.
            double right = heldOut.Average(c => c.Case.Passage.Right[Best(c.Scores)] ? 1.0 : 0.0);
            if (right > best.Right)
                best = (right, ridge, sharpness);
        }

        float[] weights = Learn(cases, best.Ridge);
        StringWriter text = new() { NewLine = "\n" };
        text.WriteLine("# Weights of ReadingEvidence, learned by training/Hindbeat.BarProfiles from the train split of the Groove MIDI Dataset 1.0.0 (Google LLC, CC BY 4.0).");
        for (int i = 0; i < weights.Length; i++)
        {
            double weight = best.Sharpness * weights[i] / spread[i];
            foreach ((string name, string[] meters, double share) in Meters)
            {
                if (name == ReadingEvidence.Names[i])
                    weight += Math.Log(share / ShareOf(passages, meters)) - Math.Log(0.89 / ShareOf(passages, ["4/4"]));
            }

            text.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{weight:0.####} {ReadingEvidence.Names[i]}"));
        }

        return text.ToString();
    }

    private static double ShareOf(PassageCase[] passages, string[] meters) =>
        passages.Average(passage => meters.Contains(passage.Truth.Split(' ')[1]) ? 1.0 : 0.0);

    private static void Print((Scaled Case, float[] Scores)[] heldOut, bool verbose)
    {
        void Line(string name, IEnumerable<(Scaled Case, float[] Scores)> group)
        {
            (Scaled Case, float[] Scores)[] all = [.. group];
            if (all.Length == 0)
                return;
            double right = all.Average(c => c.Case.Passage.Right[Best(c.Scores)] ? 1.0 : 0.0);
            double beats = all.Average(c => c.Case.Passage.BeatsRight[Best(c.Scores)] ? 1.0 : 0.0);
            Console.Error.WriteLine(string.Create(CultureInfo.InvariantCulture, $"  {name,-28} {all.Length,5} passages, read right {right:0.000}, beats {beats:0.000}"));
        }

        foreach (var group in heldOut.GroupBy(c => (c.Case.Passage.IsMade, c.Case.Passage.Kind)).OrderBy(group => group.Key.ToString()))
            Line($"{(group.Key.IsMade ? "made, " : "")}{(group.Key.Kind.IsPart ? "part" : "whole")}, faults {group.Key.Kind.Faults}", group);
        foreach (var group in heldOut.GroupBy(c => c.Case.Passage.Truth.Split(' ')[1]).OrderBy(group => group.Key))
            Line(group.Key, group);
        Line("wholes of four bars and more", heldOut.Where(c => !c.Case.Passage.IsMade && !c.Case.Passage.Kind.IsPart && c.Case.Passage.Bars > 3.5));
        if (!verbose)
            return;
        foreach ((Scaled c, float[] scores) in heldOut.Where(c => c.Case.Passage.Kind == default && !c.Case.Passage.IsMade && !c.Case.Passage.Right[Best(c.Scores)]).OrderBy(c => c.Case.Passage.Name))
            Console.Error.WriteLine($"    {c.Passage.Name}: {c.Passage.Truth} read as {c.Passage.Words[Best(scores)]}{(c.Passage.BeatsRight[Best(scores)] ? ", another bar line" : "")}");
    }

    private static float[] Scores(Scaled c, float[] weights) => [.. c.Numbers.Select(numbers => TensorPrimitives.Dot<float>(numbers, weights))];

    private static int Best(float[] scores) => Array.IndexOf(scores, scores.Max());

    private static double LogChance(Scaled c, float[] scores, double sharpness)
    {
        double top = scores.Max();
        double all = 0;
        double right = 1e-12;
        for (int r = 0; r < scores.Length; r++)
        {
            double chance = Math.Exp(sharpness * (scores[r] - top));
            all += chance;
            right += c.Passage.Right[r] ? chance : 0;
        }

        return Math.Log(right / all);
    }

    /// <summary>Spread of each number within passages.</summary>
    private static float[] Spread(PassageCase[] passages)
    {
        double[] squares = new double[passages[0].Evidence[0].Length];
        foreach (PassageCase passage in passages)
        {
            for (int i = 0; i < squares.Length; i++)
            {
                double mean = passage.Evidence.Average(numbers => numbers[i]);
                squares[i] += passage.Evidence.Average(numbers => (numbers[i] - mean) * (numbers[i] - mean));
            }
        }

        return [.. squares.Select(sum => (float)Math.Sqrt((sum / passages.Length) + 1e-6))];
    }

    private static float[] Learn(Scaled[] cases, double ridge)
    {
        int n = cases[0].Numbers[0].Length;
        float[] weights = new float[n];
        double[] m = new double[n];
        double[] v = new double[n];
        float[] gradient = new float[n];
        Random random = new(1);
        int[] order = [.. Enumerable.Range(0, cases.Length)];
        int step = 0;
        double steps = Epochs * Math.Ceiling((double)cases.Length / Batch);
        for (int epoch = 0; epoch < Epochs; epoch++)
        {
            random.Shuffle(order);
            foreach (int[] batch in order.Chunk(Batch))
            {
                Array.Clear(gradient);
                foreach (int c in batch)
                    AddGradient(cases[c], weights, gradient);
                step++;
                double rate = Rate * 0.5 * (1 + Math.Cos(Math.PI * step / steps));
                for (int i = 0; i < n; i++)
                {
                    double g = (gradient[i] / batch.Length) + (ridge * weights[i]);
                    m[i] = (0.9 * m[i]) + (0.1 * g);
                    v[i] = (0.99 * v[i]) + (0.01 * g * g);
                    weights[i] -= (float)(rate * m[i] / (1 - Math.Pow(0.9, step)) / (Math.Sqrt(v[i] / (1 - Math.Pow(0.99, step))) + 1e-8));
                }
            }
        }

        return weights;
    }

    /// <summary>Gradient of −ln of the true readings' chance.</summary>
    private static void AddGradient(Scaled c, float[] weights, float[] gradient)
    {
        float[] scores = Scores(c, weights);
        float top = scores.Max();
        double all = 0;
        double good = 0;
        double[] chance = new double[scores.Length];
        for (int r = 0; r < scores.Length; r++)
        {
            chance[r] = Math.Exp(scores[r] - top);
            all += chance[r];
            good += c.Passage.Right[r] ? chance[r] : 0;
        }

        for (int r = 0; r < scores.Length; r++)
        {
            float pull = (float)((chance[r] / all) - (c.Passage.Right[r] ? chance[r] / Math.Max(good, 1e-300) : 0));
            if (Math.Abs(pull) > 1e-6)
                TensorPrimitives.MultiplyAdd(c.Numbers[r], pull, gradient, gradient);
        }
    }
}
