using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Training;

// Learns the bar profiles that the pulse is found with, from the train split of the Groove MIDI Dataset:
//   dotnet run -c Release --project training/Hindbeat.BarProfiles -- GROOVE_MIDI_FOLDER OUTPUT
// then, built with the new profiles, the weights that readings are compared by (to standard output):
//   dotnet run -c Release --project training/Hindbeat.BarProfiles -- weights GROOVE_MIDI_FOLDER
if (args.Length != 2)
{
    Console.Error.WriteLine("usage: Hindbeat.BarProfiles GROOVE_MIDI_FOLDER OUTPUT | weights GROOVE_MIDI_FOLDER");
    return 2;
}

if (args[0] == "weights")
{
    LogitTrainer.Run(args[1], "train", passagesPerTake: 4);
    return 0;
}

// Kinds of groove a meter: about one for every four takes of 4/4 styles, few where the data set is thin.
Dictionary<Meter, int> kinds = new() { [Meter.FourFour] = 20, [new(3, 4)] = 3, [new(6, 8)] = 2, [new(5, 4)] = 1 };
Dictionary<Meter, List<BarCounts>> sections = [];
foreach (string line in File.ReadLines(Path.Combine(args[0], "info.csv")).Skip(1))
{
    // drummer,session,id,style,bpm,beat_type,time_signature,midi_filename,duration,split
    string[] cells = line.Split(',');
    if (cells[9] != "train" || cells[5] != "beat")
        continue;
    KitMidi kit = KitMidiFile.Read(Path.Combine(args[0], cells[7]));
    Meter meter = Meter.Parse(cells[6].Replace('-', '/'));
    if (kinds.ContainsKey(meter))
    {
        if (!sections.TryGetValue(meter, out List<BarCounts>? list))
            sections[meter] = list = [];
        list.AddRange(TakeSections.Of(kit, meter));
    }
}

using StreamWriter writer = new(args[1]);
writer.NewLine = "\n";
writer.WriteLine("# Kinds of groove by meter: meter, share, then chances in per mille that a voice strikes at a slot of the bar.");
writer.WriteLine("# Made by training/Hindbeat.BarProfiles from the train split of the Groove MIDI Dataset 1.0.0 (Google LLC, CC BY 4.0).");
foreach ((Meter meter, int count) in kinds)
{
    Mixture mixture = Mixture.Learn(sections[meter], count, seed: 1);
    Console.Error.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{meter}: {sections[meter].Count} sections, {count} kinds, {mixture.LogLikelihood / sections[meter].Count:0.0} nats a section"));
    for (int k = 0; k < count; k++)
    {
        string chances = string.Join(' ', mixture.Chances[k].Select(p => (1000 * p).ToString("0.#", CultureInfo.InvariantCulture)));
        writer.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{meter} {mixture.Shares[k]:0.0000} {chances}"));
    }
}

return 0;
