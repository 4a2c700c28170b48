using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Pulses;

namespace Hindbeat.Accuracy;

/// <summary>
/// Is a feel a thing that lasts? Takes of two minutes and more, from their MIDI on their click, are cut in the middle; how
/// often is the first half nearer to its own second half than to the second halves of other takes of the style?
/// </summary>
internal static class FeelHalves
{
    private const double LeastSeconds = 120;

    public static void Print(TextWriter output, string folder)
    {
        var halves = new List<(string Style, FeelReport First, FeelReport Second)>();
        foreach (GrooveTakes.Take take in GrooveTakes.All(folder, null, LeastSeconds))
        {
            if (Halves(take) is { } pair)
                halves.Add((take.Style.Split('/')[0], pair.First, pair.Second));
        }

        var table = new Table("style", "takes", "nearer than every other", "nearer than the average other", "share of others farther away");
        int all = 0, nearest = 0, average = 0;
        double farther = 0;
        foreach (var style in halves.GroupBy(half => half.Style).Where(style => style.Count() > 1).OrderByDescending(style => style.Count()).ThenBy(style => style.Key, StringComparer.Ordinal))
        {
            (int n, int first, int mean, double share) = Judge([.. style]);
            (all, nearest, average, farther) = (all + n, nearest + first, average + mean, farther + (share * n));
            Row(table, style.Key, n, first, mean, share);
        }

        Row(table, "all", all, nearest, average, farther / all);
        output.WriteLine("## First half of a take against its second half and against other takes of the style");
        output.WriteLine();
        output.WriteLine(table);
    }

    private static (int All, int Nearest, int Average, double Farther) Judge((string Style, FeelReport First, FeelReport Second)[] takes)
    {
        int all = 0, nearest = 0, average = 0;
        double farther = 0;
        for (int i = 0; i < takes.Length; i++)
        {
            double[] others = [.. Enumerable.Range(0, takes.Length).Where(j => j != i)
                .Select(j => FeelDistance.Between(takes[i].First, takes[j].Second)).Where(distance => distance is not null).Select(distance => distance!.Value)];
            if (FeelDistance.Between(takes[i].First, takes[i].Second) is not { } own || others.Length == 0)
                continue;
            all++;
            nearest += own < others.Min() ? 1 : 0;
            average += own < others.Average() ? 1 : 0;
            farther += others.Count(other => other > own) / (double)others.Length;
        }

        return (all, nearest, average, all == 0 ? 0 : farther / all);
    }

    private static (FeelReport First, FeelReport Second)? Halves(GrooveTakes.Take take)
    {
        KitMidi midi = KitMidiFile.Read(take.Path);
        Performance whole = PulseFinder.PlaceOn(midi.Grid, midi.Hits).Performance;
        int[] bars = [.. whole.PlacedHits().Select(item => item.Position.Bar).Distinct().Order()];
        if (bars.Length < 16)
            return null;
        int middle = bars[bars.Length / 2];
        FeelReport Of(Func<int, bool> chosen) =>
            FeelAnalysis.Measure(new Performance(whole.Pulse, whole.PlacedHits().Where(item => chosen(item.Position.Bar)).Select(item => item.Hit)));
        return (Of(bar => bar < middle), Of(bar => bar >= middle));
    }

    private static void Row(Table table, string style, int all, int nearest, int average, double farther) => table.Add(
        style, all.ToString(CultureInfo.InvariantCulture), Of(nearest, all), Of(average, all), string.Create(CultureInfo.InvariantCulture, $"{100 * farther:0} %"));

    private static string Of(int some, int all) => string.Create(CultureInfo.InvariantCulture, $"{some} ({100.0 * some / Math.Max(all, 1):0} %)");
}
