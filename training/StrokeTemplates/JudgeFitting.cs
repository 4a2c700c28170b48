using Hindbeat.Listening;
using Hindbeat.Performances;
using Hindbeat.Sound;

namespace Hindbeat.StrokeTemplates;

/// <summary>Fits the weights of <see cref="StrokeJudge"/>: evidence from rendered takes, cross-entropy, Adam (D. Kingma, J. Ba, ICLR 2015).</summary>
internal static class JudgeFitting
{
    private const int Inputs = StrokeEvidence.Size;
    private const int Hidden = StrokeJudge.Hidden;
    private const int Epochs = 25;
    private const int Batch = 256;
    private const double Decay = 4e-4;

    /// <summary>The evidence of every moment of one take, and which families were struck there.</summary>
    public static IEnumerable<(float[] Evidence, bool[] Struck)> Samples(float[] samples, List<(double Time, KitPiece Piece)> truth)
    {
        using MonoSound sound = MonoSound.FromSamples(samples);
        BandPowers powers = BandPowers.Of(sound, 0, samples.Length, null, default);
        HeardMoments heard = HeardMoments.Find(powers, StrengthMeter.Measure(powers), PieceTemplates.Generic(), default);
        bool[][] struck = [.. heard.Moments.Select(_ => new bool[StrokeFamilies.Count])];
        foreach ((double time, KitPiece piece) in truth)
        {
            if (Nearest(heard.Moments, time) is { } i)
                struck[i][(int)StrokeFamilies.Of(piece)] = true;
        }

        for (int i = 0; i < struck.Length; i++)
        {
            float[] evidence = new float[StrokeFamilies.Count * Inputs];
            heard.Evidence(heard.Moments[i], evidence);
            yield return (evidence, struck[i]);
        }
    }

    private static int? Nearest(Moment[] moments, double time)
    {
        int? best = null;
        double least = 0.028;
        for (int i = 0; i < moments.Length; i++)
        {
            double first = moments[i].Candidate.Frame / BandPowers.FrameRate;
            double last = moments[i].Candidate.LastFrame / BandPowers.FrameRate;
            double distance = Math.Max(0, Math.Max(first - time, time - last)) + (Math.Abs(time - first) * 0.05);
            if (distance < least)
                (least, best) = (distance, i);
        }

        return best;
    }

    /// <summary>Weights in the order of <see cref="StrokeJudge.WeightCount"/>.</summary>
    public static double[] Fit(float[][] evidence, bool[] struck, Random random)
    {
        double[] weights = new double[StrokeJudge.WeightCount];
        for (int j = 0; j < Inputs; j++)
        {
            double mean = weights[j] = evidence.Average(row => row[j]);
            weights[Inputs + j] = 1 / (Math.Sqrt(evidence.Average(row => Math.Pow(row[j] - mean, 2))) + 1e-3);
        }

        double[][] scaled = [.. evidence.Select(row => row.Select((value, j) => (value - weights[j]) * weights[Inputs + j]).ToArray())];
        double[] net = [.. Enumerable.Range(0, weights.Length - (2 * Inputs)).Select(_ => 0.3 * ColourFilters.Normal(random))];
        double[] mean1 = new double[net.Length];
        double[] mean2 = new double[net.Length];
        int[] order = [.. Enumerable.Range(0, scaled.Length)];
        int step = 0;
        for (int epoch = 0; epoch < Epochs; epoch++)
        {
            random.Shuffle(order);
            double rate = (0.005 * (1 + Math.Cos(Math.PI * epoch / Epochs))) + 1e-4;
            for (int first = 0; first + Batch <= order.Length; first += Batch)
            {
                double[] gradient = Gradient(net, order.AsSpan(first, Batch), scaled, struck);
                step++;
                for (int i = 0; i < net.Length; i++)
                {
                    double g = gradient[i] + (Decay * net[i]);
                    mean1[i] = (0.9 * mean1[i]) + (0.1 * g);
                    mean2[i] = (0.999 * mean2[i]) + (0.001 * g * g);
                    net[i] -= rate * (mean1[i] / (1 - Math.Pow(0.9, step))) / (Math.Sqrt(mean2[i] / (1 - Math.Pow(0.999, step))) + 1e-8);
                }
            }
        }

        net.CopyTo(weights, 2 * Inputs);
        return weights;
    }

    private static double[] Gradient(double[] net, ReadOnlySpan<int> rows, double[][] scaled, bool[] struck)
    {
        const int Row = Inputs + 1;
        const int Output = Hidden * Row;
        double[] gradient = new double[net.Length];
        Span<double> hidden = stackalloc double[Hidden];
        foreach (int row in rows)
        {
            double[] x = scaled[row];
            double sum = net[Output + Hidden];
            for (int unit = 0; unit < Hidden; unit++)
            {
                double input = net[(unit * Row) + Inputs];
                for (int j = 0; j < Inputs; j++)
                    input += net[(unit * Row) + j] * x[j];
                hidden[unit] = Math.Tanh(input);
                sum += net[Output + unit] * hidden[unit];
            }

            double error = ((1 / (1 + Math.Exp(-sum))) - (struck[row] ? 1 : 0)) / rows.Length;
            gradient[Output + Hidden] += error;
            for (int unit = 0; unit < Hidden; unit++)
            {
                gradient[Output + unit] += error * hidden[unit];
                double back = error * net[Output + unit] * (1 - (hidden[unit] * hidden[unit]));
                gradient[(unit * Row) + Inputs] += back;
                for (int j = 0; j < Inputs; j++)
                    gradient[(unit * Row) + j] += back * x[j];
            }
        }

        return gradient;
    }
}
