using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Accuracy;

/// <summary>
/// A kit recorded stroke by stroke, each file starting at its own onset: a folder with strokes.csv
/// (file, piece, layer, …) and one folder a view of its microphones. It renders takes whose truth is exact.
/// </summary>
/// <remarks>
/// Two kinds: strokes at the level they were recorded at, of which the velocity picks a layer; and (unpack_kit.py of
/// training/) strokes at full range with the velocity each stands for and the level it is played at.
/// </remarks>
internal sealed class RecordedKit
{
    /// <summary>Full-range strokes: 0.8 of the square law of most sound modules, at most this far down (as in training/planning.py).</summary>
    private const double Steepness = 32;
    private const double MostBelow = -34;

    private readonly Dictionary<KitPiece, float[][]> _strokes;
    private readonly Dictionary<KitPiece, (double[] Ranks, double Level)> _scaled;
    private readonly Dictionary<(KitPiece Piece, HitMarks Mark), float[][]> _marked;

    private RecordedKit(Dictionary<KitPiece, float[][]> strokes, Dictionary<KitPiece, (double[] Ranks, double Level)> scaled, Dictionary<(KitPiece Piece, HitMarks Mark), float[][]> marked) =>
        (_strokes, _scaled, _marked) = (strokes, scaled, marked);

    /// <param name="view">Which microphones: the name of a sub-folder.</param>
    public static RecordedKit Read(string folder, string view)
    {
        string table = Path.Combine(folder, "strokes.csv");
        if (!File.Exists(table))
            throw new InputException($"There is no strokes.csv in {folder}; name the folder of a recorded kit.");
        var rows = File.ReadLines(table).Skip(1)
            .Select(line => line.Split(','))
            .Where(row => row[0].StartsWith(view + "/", StringComparison.Ordinal))
            .Select(row => (File: row[0], Piece: KitPieces.Parse(row[1]), Layer: int.Parse(row[2], CultureInfo.InvariantCulture), Columns: row))
            .ToList();
        if (rows.Count == 0)
            throw new InputException($"strokes.csv in {folder} has no view named '{view}'.");

        bool isScaled = File.ReadLines(table).First().Split(',').Contains("rank");
        var strokes = new Dictionary<KitPiece, float[][]>();
        var scaled = new Dictionary<KitPiece, (double[] Ranks, double Level)>();
        // unpack_articulations.py: strokes of a piece that were played in a way of their own.
        int markColumn = Array.IndexOf(File.ReadLines(table).First().Split(','), "mark");
        HitMarks MarkOf(string[] row) => markColumn < 0 ? HitMarks.None : HitMarkWords.Find(row[markColumn]);
        var marked = rows.Where(row => MarkOf(row.Columns) != HitMarks.None).GroupBy(row => (row.Piece, MarkOf(row.Columns)))
            .ToDictionary(group => group.Key, group => group.OrderBy(row => row.Layer).Select(row => Mono(Path.Combine(folder, row.File))).ToArray());
        foreach (var piece in rows.Where(row => MarkOf(row.Columns) == HitMarks.None).GroupBy(row => row.Piece))
        {
            // A kit with two crashes or rides gives the first of them; layers run soft to loud.
            string first = Instrument(piece.First().File);
            var layers = piece.Where(row => Instrument(row.File) == first).OrderBy(row => row.Layer).ToList();
            strokes[piece.Key] = [.. layers.Select(row => Mono(Path.Combine(folder, row.File)))];
            if (isScaled)
                scaled[piece.Key] = ([.. layers.Select(row => double.Parse(row.Columns[3], CultureInfo.InvariantCulture))], double.Parse(layers[0].Columns[4], CultureInfo.InvariantCulture));
        }

        return new RecordedKit(strokes, scaled, marked);
    }

    /// <summary>The recorded stroke that a piece and velocity call for, and the gain to play it at; null when the kit has nothing like it.</summary>
    public (float[] Samples, float Gain)? Stroke(KitPiece piece, int velocity)
    {
        KitPiece source = _strokes.ContainsKey(piece) ? piece : Substitute(piece);
        if (_scaled.Count > 0 && source != piece && piece != KitPiece.TomMid)
            return null;
        if (!_strokes.TryGetValue(source, out float[][]? layers))
            return null;
        if (_scaled.TryGetValue(source, out var law))
        {
            double wanted = velocity / 127.0;
            int nearest = Enumerable.Range(0, layers.Length).MinBy(i => Math.Abs(law.Ranks[i] - wanted));
            return (layers[nearest], (float)Math.Pow(10.0, (law.Level + Math.Max(MostBelow, Steepness * Math.Log10(wanted))) / 20.0));
        }

        double place = Math.Clamp((velocity - 1) / 126.0, 0.0, 1.0) * layers.Length;
        int layer = Math.Min((int)place, layers.Length - 1);

        // Inside a layer the loudness still moves, ±2 dB from its lower to its upper edge.
        float gain = (float)Math.Pow(10.0, (((place - layer) * 4.0) - 2.0) / 20.0);
        return (layers[layer], piece == source ? gain : gain * 0.6f);
    }

    public bool Has(KitPiece piece, HitMarks mark) => _marked.ContainsKey((piece, mark));

    /// <summary>A stroke played in a way of its own; null when the kit has none.</summary>
    public (float[] Samples, float Gain)? Marked(KitPiece piece, HitMarks mark, int velocity)
    {
        if (!_marked.TryGetValue((piece, mark), out float[][]? layers) || Stroke(piece, velocity) is not { } plain)
            return null;
        return (layers[Math.Min((int)(velocity / 128.0 * layers.Length), layers.Length - 1)], plain.Gain);
    }

    public bool Has(KitPiece piece) => _strokes.ContainsKey(piece);

    /// <summary>What is really heard where the kit lacks a piece.</summary>
    public KitPiece StandIn(KitPiece piece) => Has(Substitute(piece)) ? Substitute(piece) : piece;

    private static KitPiece Substitute(KitPiece piece) => piece switch
    {
        KitPiece.HatPedal => KitPiece.HatClosed,
        KitPiece.CrossStick => KitPiece.Snare,
        KitPiece.Splash => KitPiece.China,
        KitPiece.TomMid => KitPiece.TomLow,
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
