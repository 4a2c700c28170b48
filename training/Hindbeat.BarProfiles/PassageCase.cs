using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Units;

namespace Hindbeat.Training;

/// <summary>A passage's readings: what speaks for each, and whether it is the take's own.</summary>
/// <param name="Evidence">[reading][number]</param>
/// <param name="Right">Beats, bar line and meter are the take's.</param>
/// <param name="BeatsRight">Beats are the take's.</param>
/// <param name="Words">Tempo and meter of each reading.</param>
internal sealed record PassageCase(string Name, int Fold, PassageKind Kind, bool IsMade, double Bars, string Truth, float[][] Evidence, bool[] Right, bool[] BeatsRight, string[] Words)
{
    /// <summary>The strongest rivals by the weights in use, and as many others at random: the rest has no weight in the sum.</summary>
    private const int Rivals = 60;

    private const int Others = 30;

    /// <param name="kinds">Kinds of groove learned without the take's fold.</param>
    public static PassageCase? Of(Take take, PassageKind kind, bool isMade, Random random, IReadOnlyList<BarProfiles> kinds)
    {
        Hit[]? hits = TrainingPassage.Of(take, random, kind);
        if (hits is null)
            return null;
        StrokeTrain strokes = StrokeTrain.From(hits);
        IReadOnlyList<Reading> readings = Readings.Score(strokes, BasePaths.Find(strokes, null, null), new PulseOptions(), kinds);
        if (readings.Count == 0)
            return null;
        bool[] right = [.. readings.Select(reading => Agrees(reading, take.Grid, strokes, take.Grid.Meter.BeatsPerBar) && reading.Meter == take.Grid.Meter)];
        bool[] beatsRight = [.. readings.Select(reading => Agrees(reading, take.Grid, strokes, 1))];
        double chance = (double)Others / Math.Max(1, readings.Count - Rivals);
        int[] kept = [.. Enumerable.Range(0, readings.Count).Where(rank => rank < Rivals || right[rank] || random.NextDouble() < chance)];
        return new PassageCase(take.Name, take.Fold, kind, isMade, (strokes.End - strokes.Start) / take.BarSeconds, FormattableString.Invariant($"{take.Grid.MeanTempo.Value:0.#} {take.Grid.Meter}"),
            [.. kept.Select(k => readings[k].Evidence.Select(x => (float)x).ToArray())], [.. kept.Select(k => right[k])], [.. kept.Select(k => beatsRight[k])],
            [.. kept.Select(k => FormattableString.Invariant($"{readings[k].Bpm:0.#} {readings[k].Meter}"))]);
    }

    /// <summary>True when the reading's beats lie on the grid's throughout, and its bar lines on every so many.</summary>
    private static bool Agrees(Reading reading, Pulse grid, StrokeTrain strokes, int perBar)
    {
        double Mine(double time) => (reading.Path.PlaceAt(time) - reading.Downbeat) / reading.Beat;
        double True(double time) => grid.BeatsAt(AudioTime.FromSeconds(time));
        double beats = True(strokes.End) - True(strokes.Start);
        if (Math.Abs(Math.Log((Mine(strokes.End) - Mine(strokes.Start)) / beats)) > 0.03)
            return false;
        foreach (double share in (double[])[0.04, 0.27, 0.5, 0.73, 0.96])
        {
            double time = strokes.Start + (share * (strokes.End - strokes.Start));
            double off = (Mine(time) - True(time)) / perBar;
            if (Math.Abs(off - Math.Round(off)) * perBar > 0.17)
                return false;
        }

        return true;
    }

    public void Write(BinaryWriter writer)
    {
        writer.Write(Name);
        writer.Write(Fold);
        writer.Write(Kind.IsPart);
        writer.Write(Kind.Faults);
        writer.Write(IsMade);
        writer.Write(Bars);
        writer.Write(Truth);
        writer.Write(Evidence.Length);
        writer.Write(Evidence[0].Length);
        for (int r = 0; r < Evidence.Length; r++)
        {
            writer.Write(System.Runtime.InteropServices.MemoryMarshal.AsBytes(Evidence[r].AsSpan()));
            writer.Write(Right[r]);
            writer.Write(BeatsRight[r]);
            writer.Write(Words[r]);
        }
    }

    public static PassageCase Read(BinaryReader reader)
    {
        string name = reader.ReadString();
        int fold = reader.ReadInt32();
        PassageKind kind = new(reader.ReadBoolean(), reader.ReadDouble());
        bool isMade = reader.ReadBoolean();
        double bars = reader.ReadDouble();
        string truth = reader.ReadString();
        int readings = reader.ReadInt32();
        int numbers = reader.ReadInt32();
        float[][] evidence = new float[readings][];
        bool[] right = new bool[readings];
        bool[] beatsRight = new bool[readings];
        string[] words = new string[readings];
        for (int r = 0; r < readings; r++)
        {
            evidence[r] = new float[numbers];
            reader.BaseStream.ReadExactly(System.Runtime.InteropServices.MemoryMarshal.AsBytes(evidence[r].AsSpan()));
            right[r] = reader.ReadBoolean();
            beatsRight[r] = reader.ReadBoolean();
            words[r] = reader.ReadString();
        }

        return new PassageCase(name, fold, kind, isMade, bars, truth, evidence, right, beatsRight, words);
    }
}
