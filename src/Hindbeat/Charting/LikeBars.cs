using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>
/// Which bars a drummer would call the same groove: those that differ only in what is played aside, ghost strokes and strokes
/// much softer than their piece's usual ones, and in accents, hands and how far the hats are open. A kick, a backbeat, a
/// crash or a tom more or less is a variation.
/// </summary>
internal sealed class LikeBars
{
    /// <summary>A stroke under this share of its piece's median velocity is played aside.</summary>
    private const double SoftShare = 0.6;

    /// <summary>At most this share of a bar's strokes may differ, aside or not: else little of the groove is left.</summary>
    private const double MostDifferent = 0.25;

    private readonly Chart _chart;
    private readonly Dictionary<(KitPiece Surface, Fraction At), ChartNote>[] _strokes;
    private readonly Dictionary<KitPiece, double> _usual;

    public LikeBars(Chart chart)
    {
        _chart = chart;
        _strokes = [.. chart.Bars.Select(Strokes)];
        _usual = chart.Notes().GroupBy(note => TypicalBar.Surface(note.Piece)).ToDictionary(piece => piece.Key, piece =>
        {
            int[] velocities = [.. piece.Select(note => note.Velocity).Order()];
            return (double)velocities[velocities.Length / 2];
        });
    }

    /// <param name="first">Index of a bar.</param>
    /// <param name="second">Index of another.</param>
    public bool Are(int first, int second)
    {
        if (_chart.Bars[first].Meter != _chart.Bars[second].Meter || _chart.Bars[first].Start != _chart.Bars[second].Start)
            return false;
        ChartNote[] different = [.. OnlyIn(first, second), .. OnlyIn(second, first)];
        return different.All(IsAside) && different.Length <= MostDifferent * Math.Max(_strokes[first].Count, _strokes[second].Count);
    }

    /// <summary>
    /// The bar that is nearest to all of a set: its strokes carry the mean loudness and deviation of those that share them, and how many
    /// bars that is.
    /// </summary>
    public ChartBar Core(IReadOnlyList<int> bars)
    {
        int core = bars.MinBy(bar => bars.Sum(other => OnlyIn(bar, other).Count() + OnlyIn(other, bar).Count()));
        return _chart.Bars[core] with { Hands = Mean(_chart.Bars[core].Hands), Feet = Mean(_chart.Bars[core].Feet) };

        ChartVoice Mean(ChartVoice voice) => voice with
        {
            Events = [.. voice.Events.Select(happening => happening with { Notes = [.. happening.Notes.Select(note => Over(note, happening.At))] })],
        };

        ChartNote Over(ChartNote note, Fraction at)
        {
            ChartNote[] same = [.. bars.Where(bar => _strokes[bar].ContainsKey((TypicalBar.Surface(note.Piece), at))).Select(bar => _strokes[bar][(TypicalBar.Surface(note.Piece), at)])];
            return note with
            {
                Velocity = (int)Math.Round(same.Average(each => each.Velocity)),
                Deviation = Seconds.Of(same.Average(each => each.Deviation.Value)),
                Seen = same.Length < bars.Count ? new Occurrence(same.Length, bars.Count) : null,
            };
        }
    }

    private IEnumerable<ChartNote> OnlyIn(int bar, int other) => _strokes[bar].Where(pair => !_strokes[other].ContainsKey(pair.Key)).Select(pair => pair.Value);

    private bool IsAside(ChartNote note) => note.Marks.HasFlag(HitMarks.Ghost) || note.Velocity < SoftShare * _usual[TypicalBar.Surface(note.Piece)];

    private static Dictionary<(KitPiece Surface, Fraction At), ChartNote> Strokes(ChartBar bar)
    {
        var strokes = new Dictionary<(KitPiece, Fraction), ChartNote>();
        foreach (ChartEvent happening in bar.Voices.SelectMany(voice => voice.Events))
        {
            foreach (ChartNote note in happening.Notes)
                strokes.TryAdd((TypicalBar.Surface(note.Piece), happening.At), note);
        }

        return strokes;
    }
}
