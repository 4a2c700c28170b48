using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Accuracy;

/// <summary>Takes of human drummers on an electronic kit, played to a click (info.csv and MIDI files).</summary>
/// <remarks>Groove MIDI Dataset 1.0.0 (Gillick, Roberts, Engel, Eck, Bamman, ICML 2019), CC BY 4.0.</remarks>
internal static class GrooveTakes
{
    public sealed record Take(string Name, string Path, double Bpm, Meter Meter, string Style);

    /// <summary>
    /// An even choice of a split's long takes: sorted by name, every n-th, so that drummers and styles are mixed
    /// and the same count always gives the same takes.
    /// </summary>
    public static IReadOnlyList<Take> Choose(string folder, string? split, int count, double leastSeconds)
    {
        IReadOnlyList<Take> takes = All(folder, split, leastSeconds);
        return takes.Count <= count ? takes : [.. Enumerable.Range(0, count).Select(i => takes[i * takes.Count / count])];
    }

    /// <summary>All long takes, sorted by name.</summary>
    /// <param name="split">Null = every split.</param>
    public static IReadOnlyList<Take> All(string folder, string? split, double leastSeconds)
    {
        string info = System.IO.Path.Combine(folder, "info.csv");
        if (!File.Exists(info))
            throw new InputException($"There is no info.csv in {folder}; name the folder of the takes.");
        string[] header = File.ReadLines(info).First().Split(',');
        int Column(string name) => Array.IndexOf(header, name);
        return [.. File.ReadLines(info).Skip(1).Select(line => line.Split(','))
            .Where(row => (split is null || row[Column("split")] == split) && row[Column("beat_type")] == "beat"
                && double.Parse(row[Column("duration")], CultureInfo.InvariantCulture) >= leastSeconds)
            .Select(row => new Take(
                row[Column("id")],
                System.IO.Path.Combine(folder, row[Column("midi_filename")]),
                double.Parse(row[Column("bpm")], CultureInfo.InvariantCulture),
                Meter.Parse(row[Column("time_signature")].Replace('-', '/')),
                row[Column("style")]))
            .OrderBy(take => take.Name, StringComparer.Ordinal)];
    }
}
