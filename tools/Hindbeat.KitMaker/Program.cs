using System.Globalization;
using Hindbeat.KitMaker;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;

// Makes src/Hindbeat/Rebuilding/HouseKit.bin from the studio view of the Muldjord kit:
//   dotnet run -c Release --project tools/Hindbeat.KitMaker -- DATA/muldjord-kit src/Hindbeat/Rebuilding/HouseKit.bin
// Standard output is the table of strokes that docs/decisions/rebuild-house-kit.md shows. Needs ffmpeg for FLAC.
if (args.Length != 2 || !Directory.Exists(Path.Combine(args[0], "studio")))
{
    Console.Error.WriteLine("Give the muldjord-kit folder (with its studio view inside) and the file to write.");
    return 2;
}

const string Name = "House kit";
const string Attribution = "Drum sounds from the Muldjord kit, (c) L. Muldjord, CC BY 4.0 (https://creativecommons.org/licenses/by/4.0/); mixed to mono, trimmed, faded; cross-stick, pedal hat and splash are derived from other strokes.";

var entries = new List<KitArchive.Entry>();
foreach (StrokeSource source in StrokeSource.All)
{
    int layer = 0;
    foreach (int sourceLayer in source.Layers)
    {
        string file = Path.Combine(args[0], "studio", $"{source.FileStem}-{sourceLayer}.flac");
        if (!File.Exists(file))
        {
            Console.Error.WriteLine($"{file} is missing; is this the whole kit?");
            return 1;
        }

        short[] samples = Tail.Fade(source.Derive(FlacFile.Read(file)), source.FadeSeconds);
        double onset = StrokeOnset.Find(Array.ConvertAll(samples, sample => sample / 32768f));
        entries.Add(new KitArchive.Entry(source.Piece, ++layer, source.Origin, onset, samples));
    }
}

// Written beside and moved, so that an interrupted run leaves no half kit behind.
string temporary = args[1] + ".new";
using (FileStream stream = File.Create(temporary))
    KitArchive.Write(stream, Name, Attribution, FlacFile.SampleRate, entries);
File.Move(temporary, args[1], overwrite: true);

Kit kit;
using (FileStream stream = File.OpenRead(args[1]))
    kit = KitArchive.Read(stream);
Console.WriteLine("| piece | layer | origin | seconds | onset, samples | loudness, dB |");
Console.WriteLine("|---|---|---|---|---|---|");
foreach (KitPiece piece in kit.Pieces.Order())
{
    foreach (KitSample sample in kit.StrokesOf(piece).OrderBy(sample => sample.Layer))
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"| {piece.Id()} | {sample.Layer} | {sample.Origin} | {(double)sample.Samples.Length / sample.SampleRate:0.00} | {sample.Onset:0.000} | {sample.LoudnessDb:0.0} |"));
}

Console.Error.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{entries.Count} strokes, {new FileInfo(args[1]).Length / 1048576.0:0.00} MiB; loudness over velocity fits {Curve.DecibelsPerDecade(kit):0.0} dB a decade"));
return 0;
