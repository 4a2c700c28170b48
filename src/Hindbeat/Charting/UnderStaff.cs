using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>
/// What stands in level rows under a whole line of the chart, on its time axis: counts, sticking, the tempo ribbon
/// and the touch row.
/// </summary>
internal sealed class UnderStaff(SystemInk ink, Chart chart)
{
    private const double WordEm = 1.9;
    private const double RowGap = 1.0;
    private const double TouchHeight = 3.2;
    private const double RibbonHalf = 1.5;

    /// <summary>A ribbon's edge lies this share of the tempo from its middle: 4 % is more than a steady drummer wanders.</summary>
    private const double RibbonShare = 0.04;

    private readonly List<(double X, ChartEvent Event, bool Hands)> _notes = [];
    private readonly List<(double X, string Word)> _counts = [];
    private readonly List<(double X, double Tempo)> _tempo = [];

    public void AddBar(BarLayout layout, double left, double width, double[] origins)
    {
        for (int i = 0; i < origins.Length; i++)
        {
            if (CountWords.Of(layout.Bar.Meter, layout.Columns[i].At) is { } word)
                _counts.Add((left + origins[i], word));
        }

        var x = layout.Columns.Select((column, i) => (column.At, X: left + origins[i])).ToDictionary(pair => pair.At, pair => pair.X);
        foreach ((ChartVoice voice, bool hands) in new[] { (layout.Bar.Hands, true), (layout.Bar.Feet, false) })
            _notes.AddRange(voice.Events.Where(happening => !happening.IsRest).Select(happening => (x[happening.At], happening, hands)));
        for (int beat = 0; beat < layout.Bar.BeatTempos.Count; beat++)
        {
            Fraction at = layout.Bar.Meter.BeatLength * new Fraction(beat);
            if (at >= layout.Bar.Start)
                _tempo.Add((left + (width * ((at - layout.Bar.Start) / layout.Bar.Length).ToDouble()), layout.Bar.BeatTempos[beat].Value));
        }
    }

    /// <param name="explained">Say in words what the rows are; once a chart is enough.</param>
    public void Draw(double end, bool tempoAndTouch, bool explained)
    {
        double half = MusicFont.Bounds(Smufl.Notehead(Head.Normal, new NoteValue(2)).Codepoint).Width / 2;
        if (chart.ShowCounts)
            Words([.. _counts.Select(count => (count.X + half, count.Word))], TextCut.Regular);
        (double, string)[] sticks = [.. _notes.Where(note => note.Event.Notes.Any(one => one.Stick is not null)).Select(note => (note.X + half, Letters(note.Event)))];
        Words(sticks, TextCut.SemiBold);
        if (!tempoAndTouch)
            return;
        DrawTouch(half, end);
        DrawTempo(end, explained);
    }

    private static string Letters(ChartEvent happening) => string.Concat(happening.Notes.Where(note => note.Stick is not null)
        .Select(note => note.Stick switch { Sticking.Right => "R", Sticking.Left => "L", _ => "RL" }).Distinct());

    private double NextRow(double height) => ink.Extent.Bottom + RowGap + height;

    private void Words((double Centre, string Word)[] words, TextCut cut)
    {
        if (words.Length == 0)
            return;
        double y = NextRow(0.7 * WordEm);
        double free = double.NegativeInfinity;
        foreach ((double centre, string word) in words.OrderBy(pair => pair.Centre))
        {
            double width = TextFont.Width(word, cut) * WordEm;
            double x = Math.Max(centre - (width / 2), free);
            ink.Text(InkRole.Text, word, cut, x, y, WordEm);
            free = x + width + 0.2;
        }
    }

    /// <summary>A rod a stroke, as tall as it is loud: hands left of their column's middle, feet right of it.</summary>
    private void DrawTouch(double half, double end)
    {
        double y = NextRow(TouchHeight);
        ink.Line(InkRole.Measure, 0, y, end, y, 0.06);
        foreach ((double x, ChartEvent happening, bool hands) in _notes)
        {
            for (int i = 0; i < happening.Notes.Count; i++)
            {
                double at = x + half + (hands ? -0.3 * (i + 1) : 0.3 * (i + 1));
                ink.Line(InkRole.Measure, at, y, at, y - (TouchHeight * happening.Notes[i].Velocity / 127.0), 0.16, happening.Notes[i].Hit);
            }
        }
    }

    private void DrawTempo(double end, bool explained)
    {
        if (_tempo.Count == 0)
            return;
        double middle = NextRow(RibbonHalf);
        ink.Line(InkRole.Measure, 0, middle, end, middle, 0.06);
        double Height(double tempo) => middle - (RibbonHalf * Math.Clamp(((tempo / chart.Tempo.Value) - 1) / RibbonShare, -1, 1));
        for (int i = 0; i + 1 < _tempo.Count; i++)
            ink.Line(InkRole.Measure, _tempo[i].X, Height(_tempo[i].Tempo), _tempo[i + 1].X, Height(_tempo[i + 1].Tempo), 0.2);
        if (!explained)
            return;
        string words = FormattableString.Invariant($"tempo: the line is {chart.Tempo.Value:0.#}, the row {RibbonShare * 100:0} % up and down; above it how loud each stroke is");
        ink.Text(InkRole.Measure, words, TextCut.Italic, 0, middle + RibbonHalf + 1.5, 1.35);
    }
}
