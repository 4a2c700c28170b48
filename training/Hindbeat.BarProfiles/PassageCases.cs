using Hindbeat.Performances;
using Hindbeat.Pulses;

namespace Hindbeat.Training;

/// <summary>
/// The passages that the readings' weights are learned from: each take whole, as played and as two listeners hear it; parts of it;
/// half of them at a tempo that is no whole number; some with a tempo that changes; some cut to 3/4, 5/4 or 7/8. Readings of a take are compared by kinds of groove learned without its fold, else
/// their likeness would promise more than it keeps on new takes.
/// </summary>
internal static class PassageCases
{
    private static readonly Meter[] Made = [new(3, 4), new(5, 4), new(3, 4), new(7, 8)];

    /// <summary>Faults of parts in turn: none, a good listener's, a poor one's.</summary>
    private static readonly double[] Faults = [0, 0.4, 1];

    public static void Make(string folder, string output)
    {
        IReadOnlyList<Take> takes = Take.Read(folder, "train");
        IReadOnlyList<BarProfiles>[] kinds = [.. Enumerable.Range(0, Take.Folds).Select(fold =>
            BarProfiles.Read(new StringReader(GrooveKinds.Learn([.. takes.Where(take => take.Fold != fold)]))))];
        List<(Take Take, PassageKind Kind, bool IsMade, int Seed)> jobs = [];
        for (int t = 0; t < takes.Count; t++)
            jobs.AddRange(JobsOf(takes[t], t));
        // Half of them as if no click had been played to.
        for (int j = 0; j < jobs.Count; j++)
        {
            if (jobs[j].Seed % 2 == 1)
                jobs[j] = jobs[j] with { Take = jobs[j].Take.Stretched(new Random(jobs[j].Seed)) };
        }

        PassageCase?[] cases = new PassageCase?[jobs.Count];
        Parallel.For(0, jobs.Count, new ParallelOptions { MaxDegreeOfParallelism = 2 }, j =>
            cases[j] = PassageCase.Of(jobs[j].Take, jobs[j].Kind, jobs[j].IsMade, new Random(jobs[j].Seed), kinds[jobs[j].Take.Fold]));
        PassageCase[] kept = [.. cases.OfType<PassageCase>()];
        using BinaryWriter writer = new(File.Create(output));
        writer.Write(kept.Length);
        foreach (PassageCase passage in kept)
            passage.Write(writer);
        Console.Error.WriteLine($"{kept.Count(passage => !passage.Right.Any(right => right))} of {kept.Length} passages without a true reading");
    }

    public static PassageCase[] Read(string path)
    {
        using BinaryReader reader = new(new BufferedStream(File.OpenRead(path), 1 << 20));
        return [.. Enumerable.Range(0, reader.ReadInt32()).Select(_ => PassageCase.Read(reader))];
    }

    private static IEnumerable<(Take Take, PassageKind Kind, bool IsMade, int Seed)> JobsOf(Take take, int index)
    {
        int seed = index * 41;
        foreach (double faults in Faults)
            yield return (take, new PassageKind(false, faults), false, seed++);
        // More parts of a long take, which is seldom all one groove, and of the rare meters.
        int parts = take.Grid.Meter == Meter.FourFour ? Math.Clamp((int)Math.Round(take.Seconds / 30), 1, 4) : 9;
        for (int part = 0; part < parts; part++)
            yield return (take, new PassageKind(true, Faults[(part + index) % 3]), false, seed++);
        if (index % 3 == 0 && take.Seconds > 10)
        {
            yield return (take.Bent(new Random(seed)), new PassageKind(false, Faults[index / 3 % 3]), true, seed++);
            yield return (take.Bent(new Random(seed)), new PassageKind(true, Faults[index / 3 % 3]), true, seed++);
        }

        if (index % 4 == 1 && take.InMeter(Made[index / 4 % Made.Length], index / 4) is { } made)
        {
            yield return (made, new PassageKind(false, 0), true, seed++);
            yield return (made, new PassageKind(index % 8 == 1, Faults[1 + (index / 8 % 2)]), true, seed++);
        }
    }
}
