using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Listening;

/// <summary>
/// Two strokes of one drum close together: a softer one just before is the grace of a flam and becomes a mark on the
/// main stroke, which is what the pulse and the feel are about; two softer ones are those of a drag. Two that are equally loud stay two strokes.
/// </summary>
internal static class FlamFinder
{
    /// <summary>Common practice, no source: wider than this an ear hears two strokes.</summary>
    private static readonly Seconds Widest = Seconds.FromMilliseconds(50);

    /// <summary>Nearer than this the two are one stroke heard twice.</summary>
    private static readonly Seconds Nearest = Seconds.FromMilliseconds(12);

    /// <summary>A grace is softer than its main stroke by at least this.</summary>
    private const double GraceBelow = 3;

    /// <param name="hits">Sorted by time.</param>
    public static List<Hit> Merge(IReadOnlyList<Hit> hits)
    {
        List<Hit> merged = [];
        foreach (Hit hit in hits)
        {
            int last = merged.FindLastIndex(other => StrokeFamilies.Of(other.Piece) == StrokeFamilies.Of(hit.Piece));
            Seconds apart = last < 0 ? Widest * 2 : hit.Time - merged[last].Time;
            if (apart < Nearest)
            {
                if (hit.Confidence > merged[last].Confidence)
                    merged[last] = hit with { Time = merged[last].Time };
            }
            else if (apart <= Widest && hit.Piece is KitPiece.Snare or KitPiece.TomHigh or KitPiece.TomMid or KitPiece.TomLow && IsGrace(merged[last], hit))
            {
                Hit grace = merged[last];
                bool isDrag = merged[last].Marks.HasFlag(HitMarks.Flam) || TakeFirstGrace(merged, last, hit);
                merged.Remove(grace);
                merged.Add(hit with { Marks = hit.Marks | (isDrag ? HitMarks.Drag : HitMarks.Flam) });
            }
            else
            {
                merged.Add(hit);
            }
        }

        return merged;
    }

    private static bool IsGrace(Hit grace, Hit main) => grace.Piece == main.Piece && !grace.Marks.HasFlag(HitMarks.Drag) && grace.Level.Dbfs <= main.Level.Dbfs - GraceBelow;

    /// <summary>A drag's first grace stands as far before its second as that before the main stroke, or nearer.</summary>
    private static bool TakeFirstGrace(List<Hit> merged, int second, Hit main)
    {
        int first = second == 0 ? -1 : merged.FindLastIndex(second - 1, other => other.Piece == main.Piece);
        if (first < 0 || merged[second].Time - merged[first].Time > Widest || !IsGrace(merged[first], main))
            return false;
        merged.RemoveAt(first);
        return true;
    }
}
