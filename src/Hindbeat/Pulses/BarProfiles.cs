using System.Globalization;
using System.Reflection;
using Hindbeat.Performances;

namespace Hindbeat.Pulses;

/// <summary>
/// What bars look like: for each of some kinds of groove, how often each voice strikes at each slot of the bar.
/// </summary>
/// <remarks>
/// Learned from the train split of the Groove MIDI Dataset by training/Hindbeat.BarProfiles; the file states how.
/// Layout of one profile: [voice × slots of the bar + slot], probabilities in (0, 1).
/// </remarks>
internal sealed class BarProfiles
{
    private BarProfiles(Meter meter, double[] shares, double[][] chances)
    {
        Meter = meter;
        Shares = shares;
        Chances = chances;
    }

    public Meter Meter { get; }

    /// <summary>How common each kind of groove is; sums to 1.</summary>
    public double[] Shares { get; }

    public double[][] Chances { get; }

    public int Slots => Meter.BeatsPerBar * BarSlots.PerBeat;

    private static readonly List<BarProfiles> Learned = Load();

    /// <summary>The meters that are compared when none is given.</summary>
    public static IReadOnlyList<BarProfiles> Compared { get; } =
        [For(Meter.FourFour), For(new Meter(3, 4)), For(new Meter(6, 8)), For(new Meter(5, 4)), For(new Meter(7, 8))];

    /// <summary>Profiles of any meter: learned ones where there are, else ruled.</summary>
    public static BarProfiles For(Meter meter)
    {
        if (Learned.Find(known => known.Meter == meter) is { } learned)
            return learned;
        double[][] ruled = RuledProfiles.For(meter);
        return new BarProfiles(meter, [.. ruled.Select(_ => 1.0 / ruled.Length)], ruled);
    }

    private static List<BarProfiles> Load()
    {
        using Stream stream = Assembly.GetExecutingAssembly().GetManifestResourceStream("Hindbeat.Pulses.bar-profiles.txt")
            ?? throw new InvalidOperationException("The bar profiles are missing from the assembly.");
        using StreamReader reader = new(stream);
        List<(Meter Meter, double Share, double[] Chances)> rows = [];
        while (reader.ReadLine() is { } line)
        {
            if (line.Length == 0 || line[0] == '#')
                continue;
            // meter share | per-mille a slot, voices one after the other
            string[] words = line.Split(' ', StringSplitOptions.RemoveEmptyEntries);
            double[] chances = [.. words.Skip(2).Select(word => double.Parse(word, CultureInfo.InvariantCulture) / 1000)];
            rows.Add((Meter.Parse(words[0]), double.Parse(words[1], CultureInfo.InvariantCulture), chances));
        }

        return [.. rows.GroupBy(row => row.Meter).Select(group => new BarProfiles(group.Key, [.. group.Select(row => row.Share)], [.. group.Select(row => row.Chances)]))];
    }
}
