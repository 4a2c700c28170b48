using System.Diagnostics;
using System.Globalization;
using System.Runtime.InteropServices;
using Hindbeat.Performances;

namespace Hindbeat.StrokeTemplates;

/// <summary>Single strokes of a kit: strokes.csv (file, piece, layer, ...) and the files it names; FLAC is read through ffmpeg.</summary>
internal sealed class StrokeBank
{
    private readonly Dictionary<(string View, KitPiece Piece), float[][]> _layers = [];

    public StrokeBank(string folder)
    {
        Strokes = [.. File.ReadLines(Path.Combine(folder, "strokes.csv")).Skip(1).Select(line => line.Split(','))
            .Select(fields => new Stroke(fields[0], KitPieces.Parse(fields[1]), int.Parse(fields[2], CultureInfo.InvariantCulture)))
            .Where(stroke => Views.Contains(stroke.View))];
        foreach (Stroke stroke in Strokes)
            stroke.Samples = Decode(Path.Combine(folder, stroke.File));
        // Of two instruments of one piece (two rides, two crashes) takes use the first.
        foreach (var group in Strokes.GroupBy(stroke => (stroke.View, stroke.Piece)))
        {
            string first = group.First().Instrument;
            _layers[group.Key] = [.. group.Where(stroke => stroke.Instrument == first).OrderBy(stroke => stroke.Layer).Select(stroke => stroke.Samples)];
        }
    }

    /// <summary>The room view is kept for evaluation.</summary>
    public static string[] Views { get; } = ["studio", "overhead"];

    public Stroke[] Strokes { get; }

    /// <summary>A piece's strokes, soft to loud; empty when the kit lacks it.</summary>
    public float[][] Layers(string view, KitPiece piece) => _layers.GetValueOrDefault((view, piece == KitPiece.HatPedal ? KitPiece.HatClosed : piece), []);

    private static float[] Decode(string file)
    {
        ProcessStartInfo start = new("ffmpeg") { RedirectStandardOutput = true };
        foreach (string argument in new[] { "-v", "error", "-i", file, "-ac", "1", "-ar", "44100", "-f", "f32le", "-" })
            start.ArgumentList.Add(argument);
        using Process process = Process.Start(start) ?? throw new InvalidOperationException("ffmpeg did not start.");
        using MemoryStream bytes = new();
        process.StandardOutput.BaseStream.CopyTo(bytes);
        process.WaitForExit();
        return MemoryMarshal.Cast<byte, float>(bytes.ToArray()).ToArray();
    }
}

/// <summary>One recorded stroke; its first sample is its onset.</summary>
internal sealed record Stroke(string File, KitPiece Piece, int Layer)
{
    public float[] Samples { get; set; } = [];
    public string View => File.Split('/')[0];
    public string Instrument => File[..File.LastIndexOf('-')];
}
