namespace Hindbeat.Pulses;

/// <summary>Weights of <see cref="ReadingEvidence"/>, learned by training/Hindbeat.BarProfiles from the train split of the Groove MIDI Dataset.</summary>
internal static class ReadingWeights
{
    private static readonly double[] Weights =
    [
        // Written by the trainer, in the order of ReadingEvidence.Names.
        0.456, 0.438, 0.049, 0.530, -0.013, -1.789, 2.306, 0.031, 6.056, -4.102,
        2.981, 0.457, 2.999, 1.582, -2.150, 0.257, -0.956, 0.257, 0.303, -0.090,
        2.970, -1.545, -0.211, -0.112, -2.144, 0.816, -0.066, 7.946, -6.644, 0.849,
    ];

    public static double Score(double[] evidence)
    {
        double sum = 0;
        for (int i = 0; i < Weights.Length; i++)
            sum += Weights[i] * evidence[i];
        return sum;
    }
}
