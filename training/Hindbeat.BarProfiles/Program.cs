using Hindbeat.Training;

// How readings of a passage are compared, learned from the train split of the Groove MIDI Dataset:
//   dotnet run -c Release --project training/Hindbeat.BarProfiles -- kinds GROOVE_MIDI_FOLDER OUTPUT      kinds of groove (bar-profiles.txt)
//   dotnet run -c Release --project training/Hindbeat.BarProfiles -- passages GROOVE_MIDI_FOLDER OUTPUT   every reading of many passages
//   dotnet run -c Release --project training/Hindbeat.BarProfiles -- weights PASSAGES OUTPUT              weights (reading-weights.txt)
switch (args)
{
    case ["kinds", string folder, string output]:
        File.WriteAllText(output, GrooveKinds.Learn(Take.Read(folder, "train")));
        return 0;
    case ["passages", string folder, string output]:
        PassageCases.Make(folder, output);
        return 0;
    case ["weights", string passages, string output]:
        File.WriteAllText(output, LogitTrainer.Run(PassageCases.Read(passages)));
        return 0;
    default:
        Console.Error.WriteLine("usage: Hindbeat.BarProfiles kinds GROOVE_MIDI_FOLDER OUTPUT | passages GROOVE_MIDI_FOLDER OUTPUT | weights PASSAGES OUTPUT");
        return 2;
}
