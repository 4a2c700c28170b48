using System.Globalization;
using Hindbeat.Performances;

namespace Hindbeat.Charting;

/// <summary>
/// Sets a chart on pages: title block, justified systems, the key and the measured figures. The result is
/// a display list that every page writer draws alike.
/// </summary>
public static class Engraver
{
    /// <summary>Least air between the ink of one system and the next, in spaces.</summary>
    private const double SystemGap = 3.0;

    /// <summary>Most that a full page may open the gaps by, in spaces.</summary>
    private const double MostExtraGap = 3.5;

    /// <summary>A last line stays ragged when it would be stretched beyond this.</summary>
    private const double RaggedAbove = 1.25;

    /// <summary>Where offsets are to be seen a short last line is drawn wider.</summary>
    private const double MostStretchPlayed = 2.2;

    /// <summary>A bar wider than the page makes the whole staff smaller rather than run off it.</summary>
    private const double ShrinkStep = 0.94;

    /// <exception cref="ArgumentOutOfRangeException">The page cannot hold a staff of this size.</exception>
    public static IReadOnlyList<DisplayPage> Engrave(Chart chart, PageFormat format) => Engrave(chart, format, EngravingLook.AsWritten);

    /// <inheritdoc cref="Engrave(Chart, PageFormat)"/>
    public static IReadOnlyList<DisplayPage> Engrave(Chart chart, PageFormat format, EngravingLook look)
    {
        ArgumentNullException.ThrowIfNull(look);
        ArgumentNullException.ThrowIfNull(chart);
        ArgumentNullException.ThrowIfNull(format);
        format.Check();
        List<BarLayout> bars = [.. chart.Bars.Select((bar, i) => BarLayout.Of(
            bar, chart.Staff, look.PlayedOverWritten ? chart : null, i > 0 && bar.Meter != chart.Bars[i - 1].Meter ? SystemEngraver.ChangeWidth(bar.Meter) : 0))];
        double space = format.StaffSpace;
        double widest = bars.Max(bar => bar.LeastWidth) + SystemEngraver.HeaderWidth(chart.Bars[0].Meter, true) + SystemEngraver.FinalBarlineWidth;
        while (widest * space > format.Width - (2 * format.SideMargin))
            space *= ShrinkStep;

        double width = (format.Width - (2 * format.SideMargin)) / space;
        List<SystemInk> systems = Systems(chart, bars, width, look);
        List<SystemInk> key = KeyLegend.Engrave(chart, width);
        var pages = new PageStack(chart, format, space);
        foreach (SystemInk system in systems)
            pages.AddSystem(system, SystemGap, MostExtraGap);
        pages.AddClosing(key, chart.Figures);
        return pages.Finish(StrokeNames(chart), Description(chart));
    }

    private static List<SystemInk> Systems(Chart chart, List<BarLayout> bars, double width, EngravingLook look)
    {
        double firstRoom = width - SystemEngraver.HeaderWidth(chart.Bars[0].Meter, true);
        double otherRoom = width - SystemEngraver.HeaderWidth(chart.Meter, false);
        List<int> firsts = LineBreaks.Break(bars, firstRoom - SystemEngraver.FinalBarlineWidth, otherRoom - SystemEngraver.FinalBarlineWidth);
        HashSet<int> closing = HatMarks.ClosingStrokes(chart);
        var systems = new List<SystemInk>(firsts.Count);
        for (int line = 0; line < firsts.Count; line++)
        {
            int start = firsts[line];
            int end = line + 1 < firsts.Count ? firsts[line + 1] : bars.Count;
            bool last = end == bars.Count;
            double room = (line == 0 ? firstRoom : otherRoom) - (last ? SystemEngraver.FinalBarlineWidth : 0);
            double stretch = LineBreaks.StretchFor(bars, start, end, room);
            if (last && stretch > RaggedAbove)
                stretch = Math.Min(stretch, look.PlayedOverWritten ? MostStretchPlayed : 1.0);
            systems.Add(SystemEngraver.Engrave(chart, bars.GetRange(start, end - start), width, stretch, line == 0, last, closing, look));
        }

        return systems;
    }

    private static Dictionary<int, string> StrokeNames(Chart chart)
    {
        var names = new Dictionary<int, string>();
        foreach (ChartBar bar in chart.Bars)
        {
            foreach (ChartEvent happening in bar.Voices.SelectMany(voice => voice.Events))
            {
                Units.Fraction beats = happening.At / bar.Meter.BeatLength;
                long beat = beats.Floor();
                Units.Fraction within = beats - new Units.Fraction(beat);
                string place = string.Create(CultureInfo.InvariantCulture, $"bar {bar.Number}, beat {beat + 1}{(within == 0 ? "" : $" + {within}")}");
                foreach (ChartNote note in happening.Notes)
                {
                    names[note.Hit] = $"{place}: {note.Piece.Name()}{Marks(note.Marks)}";
                    foreach (GraceNote grace in note.Graces.Where(grace => grace.Hit is not null))
                        names[grace.Hit!.Value] = $"{place}: {grace.Piece.Name()}, grace stroke";
                }
            }
        }

        return names;
    }

    private static string Marks(HitMarks marks) =>
        (marks.HasFlag(HitMarks.Ghost) ? ", ghost" : "") + (marks.HasFlag(HitMarks.Accent) ? ", accent" : "");

    private static string Description(Chart chart)
    {
        string swing = chart.Swing is null ? "" : $", {chart.Swing}";
        return string.Create(
            CultureInfo.InvariantCulture,
            $"Drum chart of {chart.Bars.Count} {(chart.Bars.Count == 1 ? "bar" : "bars")} in {chart.Meter}, {chart.Tempo.Value:0.#} beats a minute{swing}. Each note names its place and its stroke.");
    }
}
