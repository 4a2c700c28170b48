namespace Hindbeat.Charting;

/// <summary>
/// Finds room at both sides of a chord: parentheses stand outside every head near their own, and grace notes further left
/// still, one stroke's beside the next. The feet's also keep clear of what the hands have at the same place.
/// </summary>
internal static class ChordSides
{
    private const double ParenthesisGap = 0.12;

    /// <summary>Between what belongs to different voices.</summary>
    private const double VoiceGap = 0.09;

    /// <summary>Half a notehead, with a little air.</summary>
    private const double HeadNear = 0.53;

    /// <summary>Half a grace note's head, with a little air.</summary>
    private const double GraceNear = 0.36;

    /// <summary>From one grace note to the next.</summary>
    private const double GraceStep = 1.05;

    private const double GraceGap = 0.35;

    /// <summary>A lone grace note has a flag on its right.</summary>
    private const double FlagRoom = 0.5;

    /// <param name="hands">The chord of the hands at the same place, already placed, when these heads are the feet's.</param>
    /// <param name="feet">The heads of the feet at the same place, when these are the hands'.</param>
    public static void Place(List<HeadShape> heads, ChordShape? hands, IReadOnlyList<HeadShape> feet)
    {
        PlaceParentheses(heads, hands, feet);
        PlaceGraces(heads, hands);
    }

    /// <summary>What stands of the hands beside a height: their outermost ink to both sides; null when nothing is near.</summary>
    internal static (double Left, double Right)? Beside(ChordShape? hands, double y, double near)
    {
        (double Left, double Right)? found = null;
        foreach (HeadShape head in hands?.Heads ?? [])
        {
            if (Math.Abs(head.Y - y) >= near + (head.IsGhost ? Parentheses.HalfHeight : HeadNear))
                continue;
            (double left, double right) = (head.OuterLeft, hands!.Event.Value.Dots > 0 ? hands.Right : head.OuterRight);
            found = found is { } known ? (Math.Min(known.Left, left), Math.Max(known.Right, right)) : (left, right);
        }

        return found;
    }

    private static void PlaceParentheses(List<HeadShape> heads, ChordShape? hands, IReadOnlyList<HeadShape> feet)
    {
        double near = Parentheses.HalfHeight + HeadNear;
        for (int i = 0; i < heads.Count; i++)
        {
            if (!heads[i].IsGhost)
                continue;
            double y = heads[i].Y;
            double left = heads.Concat(feet).Where(head => Math.Abs(head.Y - y) < near).Min(head => head.Left) - ParenthesisGap;
            double right = heads.Concat(feet).Where(head => Math.Abs(head.Y - y) < near).Max(head => head.Right) + ParenthesisGap;
            foreach (HeadShape below in heads.Take(i).Where(head => head.IsGhost && Math.Abs(head.Y - y) < 2 * Parentheses.HalfHeight + VoiceGap))
                (left, right) = (Math.Min(left, below.OuterLeft - ParenthesisGap), Math.Max(right, below.OuterRight + ParenthesisGap));
            if (Beside(hands, y, Parentheses.HalfHeight) is { } other)
                (left, right) = (Math.Min(left, other.Left - VoiceGap), Math.Max(right, other.Right + VoiceGap));
            heads[i] = heads[i] with { ParenthesisLeft = left, ParenthesisRight = right };
        }
    }

    private static void PlaceGraces(List<HeadShape> heads, ChordShape? hands)
    {
        double left = heads.Min(head => head.IsGhost ? head.OuterLeft
            : head.Left - (ChordShape.LedgersOf(head.Y).Any() ? StaffLook.LedgerReach : 0));
        for (int i = 0; i < heads.Count; i++)
        {
            int count = heads[i].Note.Graces.Count;
            if (count == 0)
                continue;
            if (Beside(hands, heads[i].Y, GraceNear) is { } other)
                left = Math.Min(left, other.Left - VoiceGap);
            double head = MusicFont.Bounds(heads[i].Codepoint).Right * ChordShape.GraceScale;
            double last = left - GraceGap - (count == 1 ? FlagRoom : 0) - head;
            double step = Math.Max(GraceStep, head + 0.15);
            heads[i] = heads[i] with { GraceLefts = [.. Enumerable.Range(0, count).Select(n => last - ((count - 1 - n) * step))] };
            left = heads[i].GraceLefts[0];
        }
    }
}
