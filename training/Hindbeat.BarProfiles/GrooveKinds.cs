using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Pulses;

namespace Hindbeat.Training;

/// <summary>Learns kinds of groove from takes: the text that <see cref="BarProfiles"/> reads.</summary>
internal static class GrooveKinds
{
    /// <summary>Kinds a meter. 4/4: of 10, 20, 40 and 80 kinds, 40 explained held-out sessions best and 20 nearly as well.</summary>
    private static readonly (Meter Meter, int Kinds)[] Kinds = [(Meter.FourFour, 32), (new(3, 4), 8), (new(6, 8), 2), (new(5, 4), 4), (new(7, 8), 4)];

    public static string Learn(IReadOnlyList<Take> takes)
    {
        using StringWriter writer = new() { NewLine = "\n" };
        writer.WriteLine("# Kinds of groove by meter: meter, share, mean and spread of ln bpm, then chances in per mille that a voice strikes at a slot of the bar.");
        writer.WriteLine("# Made by training/Hindbeat.BarProfiles from the train split of the Groove MIDI Dataset 1.0.0 (Google LLC, CC BY 4.0).");
        foreach ((Meter meter, int kinds) in Kinds)
        {
            List<BarCounts> sections = [];
            List<double> logBpm = [];
            for (int i = 0; i < takes.Count; i++)
            {
                Take? take = takes[i].Grid.Meter == meter ? takes[i] : i % 4 == 0 ? takes[i].InMeter(meter, i / 4) : null;
                if (take is null)
                    continue;
                foreach (BarCounts section in TakeSections.Of(take))
                {
                    sections.Add(section);
                    logBpm.Add(Math.Log(take.Grid.MeanTempo.Value));
                }
            }

            if (sections.Count < 4)
                continue;
            Mixture mixture = Mixture.Learn(sections, [.. logBpm], Math.Min(kinds, sections.Count / 2), seed: 1);
            Console.Error.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{meter}: {sections.Count} sections, {mixture.Shares.Length} kinds, {mixture.LogLikelihood / sections.Count:0.0} nats a section"));
            for (int k = 0; k < mixture.Shares.Length; k++)
            {
                string chances = string.Join(' ', mixture.Chances[k].Select(p => (1000 * p).ToString("0.#", CultureInfo.InvariantCulture)));
                writer.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{meter} {mixture.Shares[k]:0.0000} {mixture.Tempi[k].Mean:0.000} {mixture.Tempi[k].Spread:0.000} {chances}"));
            }
        }

        return writer.ToString();
    }
}
