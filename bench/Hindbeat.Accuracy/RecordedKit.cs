using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Accuracy;

/// <summary>
/// A kit recorded stroke by stroke, each file starting at its own onset: a folder with strokes.csv
/// (file, piece, layer, …) and one folder a view of its microphones. It renders takes whose truth is exact.
/// </summary>
internal sealed class RecordedKit
{
    private readonly Dictionary<KitPiece, float[][]> _strokes;

    private RecordedKit(Dictionary<KitPiece, float[][]> strokes) => _strokes = strokes;

    /// <param name="view">Which microphones: the name of a sub-folder.</param>
    public static RecordedKit Read(string folder, string view)
    {
        string table = Path.Combine(folder, "strokes.csv");
        if (!File.Exists(table))
            throw new InputException($"There is no strokes.csv in {folder}; name the folder of a recorded kit.");
        var rows = File.ReadLines(table).Skip(1)
            .Select(line => line.Split(','))
            .Where(row => row[0].StartsWith(view + "/", StringComparison.Ordinal))
            .Select(row => (File: row[0], Piece: KitPieces.Parse(row[1]), Layer: int.Parse(row[2], CultureInfo.InvariantCulture)))
            .ToList();
        if (rows.Count == 0)
            throw new InputException($"strokes.csv in {folder} has no view named '{view}'.");

        var strokes = new Dictionary<KitPiece, float[][]>();
        foreach (var piece in rows.GroupBy(row => row.Piece))
        {
            // A kit with two crashes or rides gives the first of them; layers run soft to loud.
            string first = Instrument(piece.First().File);
            strokes[piece.Key] = [.. piece.Where(row => Instrument(row.File) == first).OrderBy(row => row.Layer).Select(row => Mono(Path.Combine(folder, row.File)))];
        }

        return new RecordedKit(strokes);
    }

    /// <summary>The recorded stroke that a piece and velocity call for, and the gain to play it at; null when the kit has nothing like it.</summary>
    public (float[] Samples, float Gain)? Stroke(KitPiece piece, int velocity)
    {
        KitPiece source = _strokes.ContainsKey(piece) ? piece : Substitute(piece);
        if (!_strokes.TryGetValue(source, out float[][]? layers))
            return null;
        double place = Math.Clamp((velocity - 1) / 126.0, 0.0, 1.0) * layers.Length;
        int layer = Math.Min((int)place, layers.Length - 1);

        // Inside a layer the loudness still moves, ±2 dB from its lower to its upper edge.
        float gain = (float)Math.Pow(10.0, (((place - layer) * 4.0) - 2.0) / 20.0);
        return (layers[layer], piece == source ? gain : gain * 0.6f);
    }

    private static KitPiece Substitute(KitPiece piece) => piece switch
    {
        KitPiece.HatPedal => KitPiece.HatClosed,
        KitPiece.CrossStick => KitPiece.Snare,
        KitPiece.Splash => KitPiece.China,
        _ => piece,
    };

    private static string Instrument(string file) => file[..file.LastIndexOf('-')];

    private static float[] Mono(string path)
    {
        StereoSound sound = SoundLoader.LoadStereo(path);
        var mono = new float[sound.Left.Length];
        for (int i = 0; i < mono.Length; i++)
            mono[i] = 0.5f * (sound.Left[i] + sound.Right[i]);
        return sound.SampleRate == MonoSound.AnalysisRate ? mono : Resampler.Resample(mono, sound.SampleRate, MonoSound.AnalysisRate);
    }
}
