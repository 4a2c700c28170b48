// Makes the listener's two resources again; README.md beside this file has the commands.
using System.Globalization;
using Hindbeat.Listening;
using Hindbeat.Sound;
using Hindbeat.StrokeTemplates;

switch (args)
{
    case ["templates", string kit]:
        WriteTemplates(new StrokeBank(kit));
        return 0;
    case ["judge", string kit, string takes]:
        WriteJudge(new StrokeBank(kit), takes);
        return 0;
    default:
        Console.Error.WriteLine("usage: templates KITFOLDER | judge KITFOLDER GROOVEFOLDER");
        return 2;
}

static void WriteTemplates(StrokeBank bank)
{
    const int Lead = 8192;
    Console.WriteLine("# Stroke templates: mean description of soft (layers 1-2), middle and loud strokes of one instrument in one view.");
    Console.WriteLine("# From the studio and overhead views of L. Muldjord's kit, CC BY 4.0, https://creativecommons.org/licenses/by/4.0/");
    foreach (var group in bank.Strokes.GroupBy(stroke => (stroke.Piece, stroke.Instrument, Loudness: (stroke.Layer + 1) / 2)))
    {
        float[] sum = new float[StrokeDescription.Size];
        foreach (Stroke stroke in group)
        {
            // The stroke may fall anywhere between two frames: average over four places.
            for (int shift = 0; shift < BandPowers.Hop; shift += BandPowers.Hop / 4)
            {
                float[] placed = new float[Lead + shift + (16 * 1024)];
                stroke.Samples.AsSpan(0, Math.Min(stroke.Samples.Length, placed.Length - Lead - shift)).CopyTo(placed.AsSpan(Lead + shift));
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
        string id = Hindbeat.Performances.KitPieces.Id(group.Key.Piece);
        Console.WriteLine($"{id},{group.Key.Instrument}-{group.Key.Loudness},{string.Join(',', sum.Select(value => (value / all).ToString("g3", CultureInfo.InvariantCulture)))}");
    }
}

static void WriteJudge(StrokeBank bank, string folder)
{
    const int Takes = 170;
    const double ShortestTake = 12;
    string[][] rows = [.. File.ReadLines(Path.Combine(folder, "info.csv")).Select(line => line.Split(','))];
    int midi = Array.IndexOf(rows[0], "midi_filename");
    int split = Array.IndexOf(rows[0], "split");
    int duration = Array.IndexOf(rows[0], "duration");
    string[] train = [.. rows.Skip(1).Where(row => row[split] == "train" && double.Parse(row[duration], CultureInfo.InvariantCulture) > ShortestTake).Select(row => Path.Combine(folder, row[midi])).Where(File.Exists).Order(StringComparer.Ordinal)];
    List<(float[] Evidence, bool[] Struck)> data = [];
    for (int i = 0; i < Takes; i++)
    {
        (float[] samples, var truth) = new TakeMaker(bank, new Random(100 + i)).Make(train[i * train.Length / Takes]);
        data.AddRange(JudgeFitting.Samples(samples, truth));
    }

    Console.WriteLine("# Weights of StrokeJudge: family, then means and scales of the evidence, hidden rows with bias, output with bias.");
    Console.WriteLine("# Fitted on Groove MIDI train takes (Google LLC, CC BY 4.0) rendered with altered strokes of L. Muldjord's kit (CC BY 4.0).");
    for (int family = 0; family < StrokeFamilies.Count; family++)
    {
        int at = family * StrokeEvidence.Size;
        double[] weights = JudgeFitting.Fit([.. data.Select(row => row.Evidence[at..(at + StrokeEvidence.Size)])], [.. data.Select(row => row.Struck[family])], new Random(family));
        Console.WriteLine($"{((StrokeFamily)family).ToString().ToUpperInvariant()},{string.Join(',', weights.Select(weight => weight.ToString("g5", CultureInfo.InvariantCulture)))}");
    }
}
