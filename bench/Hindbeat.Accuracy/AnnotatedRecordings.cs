using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Accuracy;

/// <summary>
/// Reads a folder of real recordings with annotations by hand: NAME.flac (or .wav), NAME.hits.txt with
/// seconds and a label a line, NAME.beats.txt with seconds and beat number.
/// </summary>
/// <remarks>Labels are those of MDB Drums (Southall, Wu, Lerch, Hockman, ISMIR 2017 late-breaking).</remarks>
internal static class AnnotatedRecordings
{
    private static readonly string[] SoundEndings = [".flac", ".wav"];

    private static readonly Dictionary<string, KitPiece> Labels = new()
    {
        ["KD"] = KitPiece.Kick,
        ["SD"] = KitPiece.Snare,
        ["SDB"] = KitPiece.Snare,
        ["SDD"] = KitPiece.Snare,
        ["SDF"] = KitPiece.Snare,
        ["SDG"] = KitPiece.Snare,
        ["SDNS"] = KitPiece.Snare,
        ["SST"] = KitPiece.CrossStick,
        ["CHH"] = KitPiece.HatClosed,
        ["OHH"] = KitPiece.HatOpen,
        ["PHH"] = KitPiece.HatPedal,
        ["RDC"] = KitPiece.Ride,
        ["RDB"] = KitPiece.RideBell,
        ["CRC"] = KitPiece.Crash,
        ["SPC"] = KitPiece.Splash,
        ["CHC"] = KitPiece.China,
        ["HIT"] = KitPiece.TomHigh,
        ["MHT"] = KitPiece.TomMid,
        ["HFT"] = KitPiece.TomLow,
        ["LFT"] = KitPiece.TomLow,
        ["TMB"] = KitPiece.Other,
    };

    public static IReadOnlyList<Truth> Read(string folder)
    {
        if (!Directory.Exists(folder))
            throw new InputException($"There is no folder {folder}; name the one that holds NAME.flac and NAME.hits.txt.");
        var found = new List<Truth>();
        foreach (string hits in Directory.EnumerateFiles(folder, "*.hits.txt").Order(StringComparer.Ordinal))
        {
            string stem = hits[..^".hits.txt".Length];
            string? sound = SoundEndings.Select(end => stem + end).FirstOrDefault(File.Exists);
            if (sound is null)
                continue;
            var beats = Rows(stem + ".beats.txt").Select(row => (Time: Number(row[0]), IsFirst: row[1] == "1")).OrderBy(beat => beat.Time).ToList();
            found.Add(new Truth(
                Path.GetFileName(stem),
                sound,
                [.. Rows(hits).Select(row => (Number(row[0]), PieceOf(row[1], hits), 0)).OrderBy(hit => hit.Item1)],
                [.. beats.Select(beat => beat.Time)],
                [.. beats.Where(beat => beat.IsFirst).Select(beat => beat.Time)],
                ExactTimes: false,
                new HashSet<int>()));
        }

        return found;
    }

    private static KitPiece PieceOf(string label, string file) =>
        Labels.TryGetValue(label, out KitPiece piece)
            ? piece
            : throw new InputException($"{Path.GetFileName(file)} holds the unknown label '{label}'.");

    private static IEnumerable<string[]> Rows(string path) =>
        File.ReadLines(path).Where(line => line.Length > 0).Select(line => line.Split([' ', '\t', ','], StringSplitOptions.RemoveEmptyEntries));

    private static double Number(string text) => double.Parse(text, CultureInfo.InvariantCulture);
}
