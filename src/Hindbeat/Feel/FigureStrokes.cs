using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Feel;

/// <summary>
/// Which strokes a line of a figure speaks of, so that a page can show and play them. For the lines of one kind, in their
/// order, the indexes into <see cref="Performance.Hits"/>; a line on the whole passage speaks of all strokes.
/// </summary>
public static class FigureStrokes
{
    public static IReadOnlyList<IReadOnlyList<int>> Of(FeelFigureKind kind, FeelReport report, Performance performance)
    {
        ArgumentNullException.ThrowIfNull(kind);
        ArgumentNullException.ThrowIfNull(report);
        ArgumentNullException.ThrowIfNull(performance);
        var placed = new Placed(performance);
        if (kind == FeelFigures.Swing)
            return [.. report.Swing.Select(figure => placed.Where((hit, place) => figure.Pieces.Contains(hit.Piece) && SwingsAt(figure.Level, place.Within)))];
        if (kind == FeelFigures.LayBack)
        {
            HashSet<(KitPiece, int, Fraction)> swinging = [.. report.Places.Where(place => place.Swings).Select(place => (place.Piece, place.Beat, place.Within))];
            return [.. report.LayBack.Where(figure => !figure.Doubts.OfType<IsTheReference>().Any()).Select(figure =>
                placed.Where((hit, place) => hit.Piece == figure.Piece && !swinging.Contains((hit.Piece, place.Beat, place.Within))))];
        }

        if (kind == FeelFigures.Place)
            return [.. report.Places.Select(figure => placed.At(figure.Piece, figure.Beat, figure.Within))];
        if (kind == FeelFigures.Habit)
            return [.. report.Places.Where(figure => figure.HabitKnown).Select(figure => placed.At(figure.Piece, figure.Beat, figure.Within))];
        if (kind == FeelFigures.Touch)
            return [.. report.Touch.Select(figure => placed.At(figure.Piece, figure.Beat, figure.Within))];
        if (kind == FeelFigures.Accent)
            return [.. report.Touch.Where(figure => figure.Accent is not null).Select(figure => placed.At(figure.Piece, figure.Beat, figure.Within))];
        if (kind == FeelFigures.Openness)
            return [.. report.Openness.Select(figure => placed.Where((hit, place) =>
                hit.Piece is KitPiece.HatClosed or KitPiece.HatOpen && place.Beat == figure.Beat && place.Within == figure.Within))];
        if (kind == FeelFigures.Looseness)
            return [.. report.Looseness.Select(figure => placed.Of(figure.Piece))];
        if (kind == FeelFigures.Ghosts)
            return [.. report.Ghosts.Select(figure => placed.Of(figure.Piece))];
        if (kind == FeelFigures.LoudAndLate)
            return [.. report.LoudAndLate.Select(figure => placed.Of(figure.Piece))];
        if (kind == FeelFigures.Flams)
            return [.. report.Flams.Select(figure => placed.Where((hit, _) => hit.Piece == figure.Piece && hit.Marks.HasFlag(HitMarks.Flam)))];
        if (kind == FeelFigures.IntervalSpread || kind == FeelFigures.LagOne)
            return [.. report.Memory.Select(figure => placed.OfStream(figure.Stream))];
        if (kind == FeelFigures.LongRange)
            return [.. report.LongRange.Select(figure => placed.OfStream(figure.Stream))];
        if (kind == FeelFigures.Together)
            return [.. report.Together.Select(figure => placed.Shared(figure.First, figure.Second))];
        if (kind == FeelFigures.SwingOverTime)
            return [.. report.SwingOverTime.Select(window => placed.Where((_, place) => place.Bar >= window.FirstBar && place.Bar <= window.LastBar && SwingsAt(window.Level, place.Within)))];
        int[] all = [.. Enumerable.Range(0, performance.Hits.Count)];
        return [.. kind.Lines(report).Select(_ => all)];
    }

    /// <summary>The second of a pair.</summary>
    private static bool SwingsAt(SwingLevel level, Fraction within) => level == SwingLevel.Eighth
        ? within == new Fraction(1, 2) || within == new Fraction(2, 3)
        : within == new Fraction(1, 4) || within == new Fraction(3, 4);

    private sealed class Placed(Performance performance)
    {
        private readonly (int Index, Hit Hit, BarPosition Place)[] _strokes =
            [.. performance.Hits.Select((hit, i) => (i, hit)).Where(entry => entry.hit.Position is not null).Select(entry => (entry.i, entry.hit, entry.hit.Position!.Value))];

        public IReadOnlyList<int> Where(Func<Hit, BarPosition, bool> wanted) => [.. _strokes.Where(stroke => wanted(stroke.Hit, stroke.Place)).Select(stroke => stroke.Index)];

        public IReadOnlyList<int> Of(KitPiece piece) => Where((hit, _) => hit.Piece == piece);

        public IReadOnlyList<int> OfStream(KitPiece stream) => Where((hit, _) => Hand.StreamOf(hit.Piece) == stream);

        public IReadOnlyList<int> At(KitPiece piece, int beat, Fraction within) => Where((hit, place) => hit.Piece == piece && place.Beat == beat && place.Within == within);

        /// <summary>Strokes of either where both play.</summary>
        public IReadOnlyList<int> Shared(KitPiece first, KitPiece second)
        {
            HashSet<BarPosition> firsts = PlacesOf(first), seconds = PlacesOf(second);
            return Where((hit, place) => Hand.StreamOf(hit.Piece) is var stream && (stream == first || stream == second) && firsts.Contains(place) && seconds.Contains(place));
        }

        private HashSet<BarPosition> PlacesOf(KitPiece stream) => [.. _strokes.Where(stroke => Hand.StreamOf(stroke.Hit.Piece) == stream).Select(stroke => stroke.Place)];
    }
}
