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
    private BarProfiles(Meter meter, double[] shares, double[][] chances, (double Mean, double Spread)[] tempi)
    {
        Tempi = tempi;
        Meter = meter;
        Shares = shares;
        Chances = chances;
        _marginals = new Lazy<MarginalTables>(() => new MarginalTables(Chances, Slots));
    }

    private readonly Lazy<MarginalTables> _marginals;

    public Meter Meter { get; }

    /// <summary>How common each kind of groove is; sums to 1.</summary>
    public double[] Shares { get; }

    public double[][] Chances { get; }

    /// <summary>Mean and spread of ln bpm of each kind.</summary>
    public (double Mean, double Spread)[] Tempi { get; }

    public MarginalTables Marginals => _marginals.Value;

    public int Slots => Meter.BeatsPerBar * BarSlots.PerBeat;

    private static readonly List<BarProfiles> Learned = Load();

    /// <summary>The meters that are compared when none is given.</summary>
    public static IReadOnlyList<BarProfiles> Compared { get; } = AllCompared(Learned);

    /// <summary>Profiles of any meter: learned ones where there are, else ruled.</summary>
    public static BarProfiles For(Meter meter) => For(meter, Learned);

    /// <summary>Profiles of the meters that are compared, from a text of learned kinds.</summary>
    public static IReadOnlyList<BarProfiles> Read(TextReader reader) => AllCompared(Parse(reader));

    private static List<BarProfiles> AllCompared(List<BarProfiles> learned) =>
        [For(Meter.FourFour, learned), For(new Meter(3, 4), learned), For(new Meter(6, 8), learned), For(new Meter(5, 4), learned), For(new Meter(7, 8), learned)];

    private static BarProfiles For(Meter meter, List<BarProfiles> learned)
    {
        if (learned.Find(known => known.Meter == meter) is { } found)
            return found;
        double[][] ruled = RuledProfiles.For(meter);
        return new BarProfiles(meter, [.. ruled.Select(_ => 1.0 / ruled.Length)], ruled, [.. ruled.Select(_ => MeterPrior.TempoOf(meter))]);
    }

    private static List<BarProfiles> Load()
    {
        using Stream stream = Assembly.GetExecutingAssembly().GetManifestResourceStream("Hindbeat.Pulses.bar-profiles.txt")
            ?? throw new InvalidOperationException("The bar profiles are missing from the assembly.");
        using StreamReader reader = new(stream);
        return Parse(reader);
    }

    private static List<BarProfiles> Parse(TextReader reader)
    {
        List<(Meter Meter, double[] Numbers)> rows = [];
        while (reader.ReadLine() is { } line)
        {
            if (line.Length == 0 || line[0] == '#')
                continue;
            // meter share mean spread | per-mille a slot, voices one after the other
            string[] words = line.Split(' ', StringSplitOptions.RemoveEmptyEntries);
            rows.Add((Meter.Parse(words[0]), [.. words.Skip(1).Select(word => double.Parse(word, CultureInfo.InvariantCulture))]));
        }

        return [.. rows.GroupBy(row => row.Meter, row => row.Numbers).Select(group => new BarProfiles(
            group.Key,
            [.. group.Select(numbers => numbers[0])],
            [.. group.Select(numbers => numbers.Skip(3).Select(permille => permille / 1000).ToArray())],
            [.. group.Select(numbers => (numbers[1], numbers[2]))]))];
    }
}
