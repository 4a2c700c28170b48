using System.Globalization;
using System.Reflection;

namespace Hindbeat.Pulses;

/// <summary>Weights of <see cref="ReadingEvidence"/>, learned by training/Hindbeat.BarProfiles from the train split of the Groove MIDI Dataset; the file states how.</summary>
internal static class ReadingWeights
{
    private static readonly double[] Weights = Load();

    public static double Score(double[] evidence)
    {
        double sum = 0;
        for (int i = 0; i < evidence.Length; i++)
            sum += Weights[i] * evidence[i];
        return sum;
    }

    /// <summary>A line a number: weight, then its name, in the order of the evidence.</summary>
    private static double[] Load()
    {
        using Stream stream = Assembly.GetExecutingAssembly().GetManifestResourceStream("Hindbeat.Pulses.reading-weights.txt")
            ?? throw new InvalidOperationException("The weights of readings are missing from the assembly.");
        using StreamReader reader = new(stream);
        List<double> weights = [];
        while (reader.ReadLine() is { } line)
        {
            if (line.Length == 0 || line[0] == '#')
                continue;
            int space = line.IndexOf(' ', StringComparison.Ordinal);
            if (weights.Count >= ReadingEvidence.Names.Length || line[(space + 1)..] != ReadingEvidence.Names[weights.Count])
                throw new InvalidOperationException($"The weights of readings do not fit the evidence at line '{line}'; train them again.");
            weights.Add(double.Parse(line.AsSpan(0, space), CultureInfo.InvariantCulture));
        }

        return weights.Count == ReadingEvidence.Names.Length
            ? [.. weights]
            : throw new InvalidOperationException("There are fewer weights than numbers of evidence; train them again.");
    }
}
