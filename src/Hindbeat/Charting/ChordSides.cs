namespace Hindbeat.Charting;

/// <summary>
/// Finds room at both sides of a chord: parentheses stand outside every head near their own, and grace
/// notes further left still, one stroke's beside the next.
/// </summary>
internal static class ChordSides
{
    private const double ParenthesisGap = 0.12;

    /// <summary>Kick and floor tom are one space apart: a foot's parentheses stand outside those of a hand.</summary>
    private const double FootParenthesisGap = 0.58;

    /// <summary>A parenthesis is 1.45 spaces tall: heads nearer than half of both must be kept clear of.</summary>
    private const double ParenthesisNear = 1.25;

    /// <summary>From one grace note to the next.</summary>
    private const double GraceStep = 1.05;

    private const double GraceGap = 0.35;

    /// <summary>A lone grace note has a flag on its right.</summary>
    private const double FlagRoom = 0.5;

    public static void Place(List<HeadShape> heads, bool hands)
    {
        PlaceParentheses(heads, hands ? ParenthesisGap : FootParenthesisGap);
        PlaceGraces(heads);
    }

    private static void PlaceParentheses(List<HeadShape> heads, double gap)
    {
        double width = MusicFont.Bounds(Smufl.ParenthesisLeft).Width;
        for (int i = 0; i < heads.Count; i++)
        {
            if (!heads[i].IsGhost)
                continue;
            double y = heads[i].Y;
            double left = heads.Where(head => Math.Abs(head.Y - y) < ParenthesisNear).Min(head => head.Left);
            double right = heads.Where(head => Math.Abs(head.Y - y) < ParenthesisNear).Max(head => head.Right);
            foreach (HeadShape below in heads.Take(i).Where(head => head.IsGhost && Math.Abs(head.Y - y) < 2 * ParenthesisNear))
                (left, right) = (Math.Min(left, below.ParenthesisLeft - width), Math.Max(right, below.ParenthesisRight + width));
            heads[i] = heads[i] with { ParenthesisLeft = left - gap, ParenthesisRight = right + gap };
        }
    }

    private static void PlaceGraces(List<HeadShape> heads)
    {
        double width = MusicFont.Bounds(Smufl.ParenthesisLeft).Width;
        double left = heads.Min(head => head.IsGhost ? head.ParenthesisLeft - width
            : head.Left - (ChordShape.LedgersOf(head.Y).Any() ? StaffLook.LedgerReach : 0));
        for (int i = 0; i < heads.Count; i++)
        {
            int count = heads[i].Note.Graces.Count;
            if (count == 0)
                continue;
            double head = MusicFont.Bounds(heads[i].Codepoint).Right * ChordShape.GraceScale;
            double last = left - GraceGap - (count == 1 ? FlagRoom : 0) - head;
            double step = Math.Max(GraceStep, head + 0.15);
            heads[i] = heads[i] with { GraceLefts = [.. Enumerable.Range(0, count).Select(n => last - ((count - 1 - n) * step))] };
            left = heads[i].GraceLefts[0];
        }
    }
}
