// Makes src/Hindbeat/Listening/stroke-templates.csv again from a folder of single strokes:
//   dotnet run --project training/StrokeTemplates -- KITFOLDER > src/Hindbeat/Listening/stroke-templates.csv
// KITFOLDER holds strokes.csv (file, piece, layer, ...) and the files it names; FLAC is read through ffmpeg.
using System.Diagnostics;
using System.Globalization;
using System.Runtime.InteropServices;
using Hindbeat.Listening;
using Hindbeat.Sound;

const int Lead = 8192;
string folder = args[0];
string[] views = ["studio", "overhead"];
var strokes = File.ReadLines(Path.Combine(folder, "strokes.csv")).Skip(1)
    .Select(line => line.Split(','))
    .Select(fields => (File: fields[0], Piece: fields[1], Layer: int.Parse(fields[2], CultureInfo.InvariantCulture)))
    .Where(stroke => views.Contains(stroke.File.Split('/')[0]));

Console.WriteLine("# Stroke templates: mean description of soft (layers 1-2), middle and loud strokes of one instrument in one view.");
Console.WriteLine("# From the studio and overhead views of L. Muldjord's kit, CC BY 4.0, https://creativecommons.org/licenses/by/4.0/");
foreach (var group in strokes.GroupBy(stroke => (stroke.Piece, Source: stroke.File[..stroke.File.LastIndexOf('-')], Loudness: (stroke.Layer + 1) / 2)))
{
    float[] sum = new float[StrokeDescription.Size];
    foreach (var stroke in group)
    {
        float[] samples = Decode(Path.Combine(folder, stroke.File));
        // The stroke may fall anywhere between two frames: average over four places.
        for (int shift = 0; shift < BandPowers.Hop; shift += BandPowers.Hop / 4)
        {
            float[] placed = new float[Lead + shift + (16 * 1024)];
            samples.AsSpan(0, Math.Min(samples.Length, placed.Length - Lead - shift)).CopyTo(placed.AsSpan(Lead + shift));
            using MonoSound sound = MonoSound.FromSamples(placed);
            BandPowers powers = BandPowers.Of(sound, 0, placed.Length, null, default);
            float[] description = new float[StrokeDescription.Size];
            int frame = powers.FrameOf(Lead + shift);
            StrokeDescription.Describe(powers, frame, frame, int.MaxValue, description, new float[BandPowers.Bands]);
            float total = description.Sum();
            for (int i = 0; i < sum.Length; i++)
                sum[i] += description[i] / total;
        }
    }

    float all = sum.Sum();
    Console.WriteLine($"{group.Key.Piece},{group.Key.Source}-{group.Key.Loudness},{string.Join(',', sum.Select(value => (value / all).ToString("g3", CultureInfo.InvariantCulture)))}");
}

static float[] Decode(string file)
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
