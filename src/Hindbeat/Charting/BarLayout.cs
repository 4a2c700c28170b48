using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>Everything that starts at one place of a bar, with its reach to both sides.</summary>
internal sealed class BarColumn
{
    public required Fraction At { get; init; }

    /// <summary>To the next column or the end of the bar, as a share of a whole note.</summary>
    public required Fraction Length { get; init; }

    public double Left { get; set; }
    public double Right { get; set; }
}

/// <summary>
/// The widths of one bar, in staff spaces: columns joined by springs. A column wants space by its length
/// (a value twice as long gets about half as much again, as hand engravers do; common practice, no
/// source) and never less than its ink needs.
/// </summary>
internal sealed class BarLayout
{
    /// <summary>Ideal space of a 16th.</summary>
    private const double SixteenthSpace = 2.45;

    /// <summary>Space grows with length to this power: 2^0.58 = 1.49 for the double value.</summary>
    private const double LengthPower = 0.58;

    private const double AfterBarline = 1.25;
    private const double BeforeBarline = 0.7;
    private const double BetweenColumns = 0.3;
    private const double EmptyBar = 9.0;

    private readonly double[] _least;
    private readonly double[] _ideal;

    private BarLayout(ChartBar bar, IReadOnlyList<BarColumn> columns, Dictionary<ChartEvent, ChordShape> shapes)
    {
        Bar = bar;
        Columns = columns;
        Shapes = shapes;
        _least = new double[columns.Count + 1];
        _ideal = new double[columns.Count + 1];
        if (columns.Count == 0)
        {
            _least[0] = (EmptyBar * 0.6) + RepeatRoom(bar.RepeatBegins) + RepeatRoom(bar.RepeatTimes > 1);
            _ideal[0] = EmptyBar;
            return;
        }

        _least[0] = AfterBarline + RepeatRoom(bar.RepeatBegins) + columns[0].Left;
        for (int i = 0; i < columns.Count; i++)
        {
            _least[i + 1] = columns[i].Right + (i + 1 < columns.Count ? columns[i + 1].Left + BetweenColumns : BeforeBarline + RepeatRoom(bar.RepeatTimes > 1));
            _ideal[i + 1] = SixteenthSpace * Math.Pow(columns[i].Length.ToDouble() * 16.0, LengthPower);
        }
    }

    public ChartBar Bar { get; }

    private static double RepeatRoom(bool sign) => sign ? RepeatSigns.Width : 0;

    public IReadOnlyList<BarColumn> Columns { get; }

    /// <summary>Noteheads of every event that has any.</summary>
    public IReadOnlyDictionary<ChartEvent, ChordShape> Shapes { get; }

    /// <summary>Width when every spring is stretched by a factor.</summary>
    public double Width(double stretch)
    {
        double sum = 0;
        for (int i = 0; i < _least.Length; i++)
            sum += Math.Max(_least[i], _ideal[i] * stretch);
        return sum;
    }

    /// <summary>The narrowest that nothing touches.</summary>
    public double LeastWidth => Width(0);

    /// <summary>Origins of the columns from the bar's left barline.</summary>
    public double[] Origins(double stretch)
    {
        var origins = new double[Columns.Count];
        double x = 0;
        for (int i = 0; i < origins.Length; i++)
        {
            x += Math.Max(_least[i], _ideal[i] * stretch);
            origins[i] = x;
        }

        return origins;
    }

    public static BarLayout Of(ChartBar bar, StaffMap staff)
    {
        var shapes = new Dictionary<ChartEvent, ChordShape>(ReferenceEqualityComparer.Instance);
        var reach = new SortedDictionary<Fraction, (double Left, double Right)>();
        foreach ((ChartVoice voice, bool up) in new[] { (bar.Hands, true), (bar.Feet, false) })
        {
            var beamed = new bool[voice.Events.Count];
            foreach (BeamRun run in voice.Beams)
                Array.Fill(beamed, true, run.First, run.Last - run.First + 1);
            for (int i = 0; i < voice.Events.Count; i++)
            {
                ChartEvent happening = voice.Events[i];
                if (happening.Hidden || happening.FillsBar)
                    continue;
                (double left, double right) = (0, MusicFont.Bounds(Smufl.Rest(happening.Value)).Right + (happening.Value.Dots * 0.7));
                if (!happening.IsRest)
                {
                    ChordShape shape = ChordShape.Of(happening, up, beamed[i], staff);
                    shapes.Add(happening, shape);
                    (left, right) = (shape.Left, shape.Right);
                }

                reach.TryGetValue(happening.At, out (double Left, double Right) known);
                reach[happening.At] = (Math.Max(known.Left, left), Math.Max(known.Right, right));
            }
        }

        var columns = new List<BarColumn>(reach.Count);
        Fraction end = bar.Start + bar.Length;
        Fraction[] places = [.. reach.Keys];
        for (int i = 0; i < places.Length; i++)
        {
            Fraction next = i + 1 < places.Length ? places[i + 1] : end;
            columns.Add(new BarColumn { At = places[i], Length = next - places[i], Left = reach[places[i]].Left, Right = reach[places[i]].Right });
        }

        return new BarLayout(bar, columns, shapes);
    }
}
