using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Feel;

/// <summary>One placed stroke, ready for arithmetic.</summary>
/// <param name="Deviation">Seconds after the even written place on the pulse (a shuffle's triplet place counts as its even place).</param>
/// <param name="Beats">Beats of the even place from the pulse's first beat.</param>
/// <param name="BeatLength">Seconds of a beat there.</param>
/// <param name="Weight">The hit's confidence.</param>
/// <param name="Cell">Index of (piece, written place in the bar) in <see cref="StrokeTable.Cells"/>.</param>
/// <param name="Block">Index of the stroke's resampling block.</param>
internal readonly record struct Stroke(
    KitPiece Piece, PlaceRole Role, double Time, double Deviation, double Beats, double BeatLength, double Weight, double Level, int Cell, int Block);

/// <summary>A piece at one written place of the bar.</summary>
internal readonly record struct Cell(KitPiece Piece, int Beat, Fraction Within, PlaceRole Role);

/// <summary>
/// The placed strokes of a performance with their roles, cells and resampling blocks. A block is a bar;
/// from 24 bars two bars, from 96 four, so that a two-bar pattern is drawn as one; under 4 bars it is a
/// beat, because three bars cannot be resampled.
/// </summary>
internal sealed class StrokeTable
{
    public const int FewestBars = 4;
    private const int BarsForBlocksOfTwo = 24;
    private const int BarsForBlocksOfFour = 96;

    private readonly Func<int, int, int?> _blockAt;

    private StrokeTable(Performance performance, PlaceGrid grid, Stroke[] strokes, Cell[] cells, int bars, int blocks, bool blocksAreBeats, int elsewhere, Func<int, int, int?> blockAt)
    {
        Elsewhere = elsewhere;
        _blockAt = blockAt;
        Performance = performance;
        Grid = grid;
        Strokes = strokes;
        Cells = cells;
        Bars = bars;
        Blocks = blocks;
        BlocksAreBeats = blocksAreBeats;
        Pieces = [.. strokes.Select(stroke => stroke.Piece).Distinct().Order()];
    }

    public Performance Performance { get; }
    public PlaceGrid Grid { get; }
    public Stroke[] Strokes { get; }
    public Cell[] Cells { get; }
    public IReadOnlyList<KitPiece> Pieces { get; }

    /// <summary>Bars that hold at least one placed stroke.</summary>
    public int Bars { get; }

    public int Blocks { get; }
    public bool BlocksAreBeats { get; }

    /// <summary>Strokes left out because they were played elsewhere than they are written.</summary>
    public int Elsewhere { get; }

    /// <summary>The resampling block that a bar and beat belong to; null where this table has no strokes.</summary>
    public int? BlockAt(int bar, int beat) => _blockAt(bar, beat);

    /// <exception cref="InputException">No stroke has a written place.</exception>
    public static StrokeTable From(Performance performance)
    {
        ArgumentNullException.ThrowIfNull(performance);
        var placed = MainStrokes([.. performance.PlacedHits().Where(item => item.Hit.Confidence > 0)]);
        if (placed.Count == 0)
        {
            throw new InputException(performance.Hits.Count == 0
                ? "There are no strokes in this passage, so there is no feel to measure."
                : "None of the strokes has a written place yet; find the pulse of the passage first.");
        }

        Pulse pulse = performance.Pulse;
        var grid = new PlaceGrid(pulse.Meter);
        var shuffles = Shuffles(placed.Select(item => (item.Hit.Piece, item.Position.Within)), grid);
        double lateOfAll = Sorting.Median(placed.Select(Late).ToArray());
        bool isShuffle = grid.IsShuffleWrittenEven([.. placed.Select(item => (item.Position.Within, Late(item) - lateOfAll))]);
        int[] bars = [.. placed.Select(item => item.Position.Bar).Distinct().Order()];
        bool beats = bars.Length < FewestBars;
        int perBlock = bars.Length >= BarsForBlocksOfFour ? 4 : bars.Length >= BarsForBlocksOfTwo ? 2 : 1;

        var cells = new Dictionary<Cell, int>();
        var blocks = new Dictionary<(int, int), int>();
        var strokes = new List<Stroke>(placed.Count);
        var places = placed.ConvertAll(item => Place(item.Hit, item.Position));
        // Against a click the whole kit may lie late: what most strokes share is no wrong place.
        double shared = Sorting.Median(places.Select(place => place.Late / place.BeatLength).ToArray());
        foreach (var (hit, written, role, late, fromFirst, beatLength) in places)
        {
            if (grid.IsElsewhere(role, (late / beatLength) - shared))
                continue;
            (int, int) block = BlockKey(written.Bar, written.Beat)!.Value;
            strokes.Add(new Stroke(
                hit.Piece, role, hit.Time.TotalSeconds, late, fromFirst, beatLength,
                hit.Confidence, hit.Level.Dbfs, Index(cells, new Cell(hit.Piece, written.Beat, written.Within, role)), Index(blocks, block)));
        }

        return new StrokeTable(
            performance, grid, [.. strokes], [.. cells.OrderBy(pair => pair.Value).Select(pair => pair.Key)], bars.Length, blocks.Count, beats, placed.Count - strokes.Count,
            (bar, beat) => BlockKey(bar, beat) is { } key && blocks.TryGetValue(key, out int block) ? block : null);

        (Hit Hit, BarPosition Written, PlaceRole Role, double Late, double FromFirst, double BeatLength) Place(Hit hit, BarPosition written)
        {
            SwingLevel? shuffle = isShuffle ? SwingLevel.Eighth : shuffles.TryGetValue(Hand.StreamOf(hit.Piece), out SwingLevel own) ? own : null;
            Fraction even = shuffle is { } level ? grid.EvenPlaceOf(written.Within, level) : written.Within;
            PlaceRole role = grid.RoleOf(even);
            double fromFirst = pulse.BeatsFromFirst(new BarPosition(written.Bar, written.Beat, even)).ToDouble();
            AudioTime expected = pulse.TimeAt(fromFirst);
            return (hit, written, role, (hit.Time - expected).Value, fromFirst, pulse.BeatLengthAt(expected).Value);
        }

        double Late((Hit Hit, BarPosition Position, Seconds Deviation) item) => item.Deviation.Value / pulse.BeatLengthAt(item.Hit.Time).Value;

        (int, int)? BlockKey(int bar, int beat)
        {
            int index = Array.BinarySearch(bars, bar);
            return index < 0 ? null : beats ? (bar, beat) : (index / perBlock, 0);
        }
    }

    /// <summary>
    /// Of several strokes of a piece at one written place in one bar the loudest, and of equally loud ones the last: the others
    /// are grace strokes, which are played before the place on purpose and say nothing of how late it is struck.
    /// </summary>
    private static List<(Hit Hit, BarPosition Position, Seconds Deviation)> MainStrokes((Hit Hit, BarPosition Position, Seconds Deviation)[] placed)
    {
        var loudest = new Dictionary<(KitPiece, BarPosition), int>();
        for (int i = 0; i < placed.Length; i++)
        {
            (KitPiece, BarPosition) place = (placed[i].Hit.Piece, placed[i].Position);
            if (!loudest.TryGetValue(place, out int other) || placed[i].Hit.Level.Dbfs >= placed[other].Hit.Level.Dbfs)
                loudest[place] = i;
        }

        return [.. loudest.Values.Order().Select(i => placed[i])];
    }

    /// <summary>
    /// How each stream's triplet places are read. A stream that cannot tell by itself (a kick with one
    /// pickup) follows the others when they agree.
    /// </summary>
    private static Dictionary<KitPiece, SwingLevel> Shuffles(IEnumerable<(KitPiece Piece, Fraction Within)> places, PlaceGrid grid)
    {
        var streams = places.ToLookup(place => Hand.StreamOf(place.Piece), place => place.Within);
        var read = new Dictionary<KitPiece, SwingLevel>();
        foreach (var stream in streams)
        {
            if (grid.ShuffleOf(stream) is { } level)
                read[stream.Key] = level;
        }

        SwingLevel[] agreed = [.. read.Values.Distinct()];
        if (agreed.Length == 1)
        {
            foreach (var stream in streams)
            {
                bool onlyLastThirds = stream.All(place => grid.RoleOf(place) != PlaceRole.Other || grid.RoleOf(grid.EvenPlaceOf(place, agreed[0])) != PlaceRole.Other);
                if (!read.ContainsKey(stream.Key) && onlyLastThirds)
                    read[stream.Key] = agreed[0];
            }
        }

        return read;
    }

    private static int Index<TKey>(Dictionary<TKey, int> known, TKey key)
        where TKey : notnull
    {
        if (!known.TryGetValue(key, out int index))
            known[key] = index = known.Count;
        return index;
    }
}
