using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>
/// Where the heads of a bar are drawn when each stands where it was struck: between two columns time runs evenly, so a
/// stroke that is late by half the way to the next column is drawn half way to it.
/// </summary>
/// <remarks>
/// Two limits keep heads from covering one another: what would run into the next column's ink stops before it, and heads of
/// one column that would meet share the mean of their places. The printed offset always is the measured one.
/// </remarks>
internal sealed class PlayedPlaces
{
    /// <summary>A column's strokes may claim at most this share of the way to its neighbour before the layout stops making room.</summary>
    public const double MostShare = 0.55;

    /// <summary>Air between the heads of neighbouring columns.</summary>
    public const double Air = 0.4;

    /// <summary>Graces go with their head, but from a late one they stay clear of the stem and its flag.</summary>
    public const double MostGraceShift = 0.25;

    private const double SoftestSize = 0.6;
    private const double LoudestSize = 1.0;
    private const double BarlineAir = 0.3;

    private readonly Dictionary<ChartNote, double> _shifts = new(ReferenceEqualityComparer.Instance);

    /// <summary>Chords that go together with what stands to the right of their dots.</summary>
    private readonly HashSet<ChordShape> _whole = new(ReferenceEqualityComparer.Instance);

    /// <param name="origins">Of the columns, from the bar's left edge.</param>
    public PlayedPlaces(Chart chart, BarLayout layout, double[] origins, double width)
    {
        double[] x = [.. origins, width];
        double[] late = new double[layout.Columns.Count];
        double[] early = new double[layout.Columns.Count];
        for (int i = 0; i < origins.Length; i++)
        {
            BarColumn column = layout.Columns[i];
            double gap = x[i + 1] - x[i];
            double nextLeft = i + 1 < origins.Length ? layout.Columns[i + 1].Left + Air : BarlineAir;
            double nextEarly = i + 1 < origins.Length ? layout.Columns[i + 1].Early : 0;
            double wanted = (column.Late + nextEarly) * gap;
            double room = Math.Max(0, gap - column.Right - nextLeft);
            late[i] = wanted > room ? room / wanted : 1;
            if (i + 1 < origins.Length)
                early[i + 1] = late[i];
        }

        if (origins.Length > 0)
        {
            double wanted = layout.Columns[0].Early * (x[1] - x[0]);
            double room = Math.Max(0, x[0] - layout.Columns[0].Left - BarlineAir);
            early[0] = wanted > room ? room / wanted : 1;
        }

        ILookup<Fraction, ChordShape> shapes = layout.Shapes.Values.ToLookup(shape => shape.Event.At);
        for (int i = 0; i < origins.Length; i++)
        {
            double after = (x[i + 1] - x[i]) / layout.Columns[i].Length.ToDouble();
            double before = i == 0 ? after : (x[i] - x[i - 1]) / layout.Columns[i - 1].Length.ToDouble();
            var heads = new List<(ChordShape Shape, HeadShape Head)>();
            foreach (ChordShape shape in shapes[layout.Columns[i].At])
            {
                foreach (HeadShape head in shape.Heads)
                {
                    double away = WholeNotes(chart, layout.Bar.Meter, head.Note.Deviation);
                    _shifts[head.Note] = away > 0 ? away * after * late[i] : away * before * early[i];
                    heads.Add((shape, head));
                }
            }

            KeepApart(heads);
        }
    }

    /// <summary>How far right of its written place a stroke is drawn, in spaces; left when early.</summary>
    public double Shift(ChartNote note) => _shifts.GetValueOrDefault(note);

    /// <summary>How far right a chord's dots are drawn: with its latest head, and left only where all goes together.</summary>
    public double DotShift(ChordShape shape)
    {
        double latest = shape.Heads.Max(head => Shift(head.Note));
        return _whole.Contains(shape) ? latest : Math.Max(0, latest);
    }

    /// <summary>A deviation as a share of a whole note at the chart's tempo.</summary>
    public static double WholeNotes(Chart chart, Performances.Meter meter, Seconds deviation) => deviation / chart.Tempo.Beat * meter.BeatLength.ToDouble();

    /// <summary>Size of a head against full size; none is larger, or heads side by side would touch.</summary>
    public static double SizeOf(int velocity) => SoftestSize + ((LoudestSize - SoftestSize) * velocity / 127.0);

    /// <summary>Heads that would meet are drawn at their mean place, where the layout keeps them apart; once more for every head that such a pair then meets.</summary>
    private void KeepApart(List<(ChordShape Shape, HeadShape Head)> heads)
    {
        var together = heads.Select((_, i) => i).ToArray();

        // The dots of a chord go with its latest head: beside a ghost stroke of the other voice the whole column goes together.
        if (heads.Exists(pair => pair.Shape.Event.Value.Dots > 0 && heads.Exists(other => other.Head.IsGhost && other.Shape != pair.Shape)))
        {
            Array.Clear(together);
            Share(heads);
            _whole.UnionWith(heads.Select(pair => pair.Shape));
        }

        for (bool moved = true; moved;)
        {
            moved = false;
            for (int i = 0; i < heads.Count; i++)
            {
                for (int j = i + 1; j < heads.Count; j++)
                {
                    if (together[i] == together[j] || _shifts[heads[i].Head.Note] == _shifts[heads[j].Head.Note] || !Reach(heads[i]).Overlaps(Reach(heads[j])))
                        continue;
                    (int kept, int given) = (together[i], together[j]);
                    for (int k = 0; k < together.Length; k++)
                        together[k] = together[k] == given ? kept : together[k];
                    Share([.. heads.Where((_, k) => together[k] == kept)]);
                    moved = true;
                }
            }
        }
    }

    private void Share(IReadOnlyList<(ChordShape Shape, HeadShape Head)> heads)
    {
        double mean = heads.Average(pair => _shifts[pair.Head.Note]);
        if (heads.Any(pair => pair.Head.GraceLefts.Count > 0))
            mean = Math.Min(mean, MostGraceShift);
        foreach ((_, HeadShape head) in heads)
            _shifts[head.Note] = mean;
    }

    private Box Reach((ChordShape Shape, HeadShape Head) pair)
    {
        (ChordShape shape, HeadShape head) = pair;
        const double wider = 0.15;
        double high = head.IsGhost ? Parentheses.HalfHeight + 0.05 : 0.65;
        double top = head.Y - high;
        double bottom = head.Y + high;
        double shift = _shifts[head.Note];
        double left = (head.IsGhost ? head.ParenthesisLeft - Parentheses.Width - 0.1 : head.Left - wider) + shift;
        double right = (head.IsGhost ? head.ParenthesisRight + Parentheses.Width + 0.1 : head.Right + wider) + shift;
        if (shape.Event.Value.Dots > 0)
            (top, right) = (Math.Min(top, head.Y - 0.8), Math.Max(right, shape.Right + DotShift(shape)));
        if (head.GraceLefts.Count > 0)
        {
            left = head.GraceLefts[0] - wider + Math.Min(MostGraceShift, shift);
            (top, bottom) = shape.StemUp ? (Math.Min(top, head.Y - 2.7), bottom) : (top, head.Y + 2.7);
        }

        return new Box(left, top, right, bottom);
    }
}
