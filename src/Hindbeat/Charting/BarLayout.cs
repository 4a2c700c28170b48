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

    /// <summary>How far its latest stroke lies on the way to the next column (or the bar's end), 0 when none is late or the page shows no playing.</summary>
    public double Late { get; init; }

    /// <summary>How far its earliest stroke lies on the way to the column before; of the first column, measured by the gap after it.</summary>
    public double Early { get; init; }
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

    /// <summary>More room after the bar line where first strokes may stand early.</summary>
    private const double EarlyRoom = 0.6;

    private BarLayout(ChartBar bar, IReadOnlyList<BarColumn> columns, Dictionary<ChartEvent, ChordShape> shapes, bool played, double signature)
    {
        Signature = signature;
        Bar = bar;
        Columns = columns;
        Shapes = shapes;
        _least = new double[columns.Count + 1];
        _ideal = new double[columns.Count + 1];
        if (columns.Count == 0)
        {
            _least[0] = (EmptyBar * 0.6) + signature + RepeatRoom(bar.RepeatBegins) + RepeatRoom(bar.RepeatTimes > 1);
            _ideal[0] = EmptyBar + signature;
            return;
        }

        _least[0] = AfterBarline + signature + RepeatRoom(bar.RepeatBegins) + columns[0].Left + (played ? EarlyRoom : 0);
        double between = played ? PlayedPlaces.Air : BetweenColumns;
        for (int i = 0; i < columns.Count; i++)
        {
            bool last = i + 1 == columns.Count;
            double ink = columns[i].Right + (last ? BeforeBarline + RepeatRoom(bar.RepeatTimes > 1) : columns[i + 1].Left + between);
            _least[i + 1] = ink / (1 - Math.Min(PlayedPlaces.MostShare, columns[i].Late + (last ? 0 : columns[i + 1].Early)));
            _ideal[i + 1] = SixteenthSpace * Math.Pow(columns[i].Length.ToDouble() * 16.0, LengthPower);
        }
    }

    public ChartBar Bar { get; }

    /// <summary>Room at its start for the new meter; 0 where the meter does not change.</summary>
    public double Signature { get; }

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

    /// <param name="played">The chart, when its heads are to stand where they were struck; null for a page as written.</param>
    /// <param name="signature">Room in front for a change of meter, in spaces.</param>
    public static BarLayout Of(ChartBar bar, StaffMap staff, Chart? played = null, double signature = 0)
    {
        var shapes = new Dictionary<ChartEvent, ChordShape>(ReferenceEqualityComparer.Instance);
        var handsAt = new Dictionary<Fraction, ChordShape>();
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
                    ChordShape shape = up
                        ? ChordShape.Of(happening, up, beamed[i], staff, feet: FeetAt(bar, happening.At, staff))
                        : ChordShape.Of(happening, up, beamed[i], staff, hands: handsAt.GetValueOrDefault(happening.At));
                    shapes.Add(happening, shape);
                    if (up)
                        handsAt[happening.At] = shape;
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
            (double early, double late) = played is null ? (0, 0) : Deviations(played, bar, shapes.Keys.Where(happening => happening.At == places[i]));
            columns.Add(new BarColumn
            {
                At = places[i],
                Length = next - places[i],
                Left = reach[places[i]].Left,
                Right = reach[places[i]].Right,
                Late = late / (next - places[i]).ToDouble(),
                Early = early / (i == 0 ? next - places[i] : places[i] - places[i - 1]).ToDouble(),
            });
        }

        return new BarLayout(bar, columns, shapes, played is not null, signature);
    }

    private static ChordShape? FeetAt(ChartBar bar, Fraction at, StaffMap staff) =>
        bar.Feet.Events.FirstOrDefault(happening => happening.At == at && !happening.IsRest) is { } feet
            ? ChordShape.Of(feet, stemUp: false, beamed: true, staff)
            : null;

    /// <summary>The largest deviations to both sides, as shares of a whole note.</summary>
    private static (double Early, double Late) Deviations(Chart chart, ChartBar bar, IEnumerable<ChartEvent> events)
    {
        double early = 0;
        double late = 0;
        foreach (ChartNote note in events.SelectMany(happening => happening.Notes))
        {
            double away = PlayedPlaces.WholeNotes(chart, bar.Meter, note.Deviation);
            (early, late) = (Math.Max(early, -away), Math.Max(late, away));
        }

        return (early, late);
    }
}
