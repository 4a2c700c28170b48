using Hindbeat.Performances;

namespace Hindbeat.Charting;

/// <summary>One notehead of a chord.</summary>
/// <param name="X">Left edge, from the column's origin, in staff spaces.</param>
/// <param name="Y">Centre, in staff spaces below the middle line.</param>
internal readonly record struct HeadShape(ChartNote Note, int Codepoint, string GlyphName, double X, double Y)
{
    public double Left => X + MusicFont.Bounds(Codepoint).Left;

    public double Right => X + MusicFont.Bounds(Codepoint).Right;

    /// <summary>Where a rising stem stands against the head's own origin; a slash may reach beyond it.</summary>
    public double StemSide => MusicFont.Anchor(GlyphName, "stemUpSE")?.X ?? MusicFont.Bounds(Codepoint).Right;

    public bool IsGhost => Note.Marks.HasFlag(HitMarks.Ghost);
}

/// <summary>The noteheads of one event, with how far it reaches to both sides of its column.</summary>
internal sealed class ChordShape
{
    /// <summary>Air between a notehead and its parentheses.</summary>
    public const double ParenthesisGap = 0.12;

    /// <summary>Size of grace notes against full size (common practice, no source).</summary>
    public const double GraceScale = 0.62;

    /// <summary>From one grace note to the next.</summary>
    public const double GraceStep = 1.05;

    private const double FlagWidth = 1.1;
    private const double DotWidth = 0.75;
    private const double LedgerReach = 0.4;

    private ChordShape(ChartEvent happening, IReadOnlyList<HeadShape> heads, bool stemUp, bool flagged, double stemX)
    {
        StemX = stemX;
        Event = happening;
        Heads = heads;
        StemUp = stemUp;
        Flagged = flagged;
        foreach (HeadShape head in heads)
        {
            double left = head.Left;
            double right = head.Right;
            if (head.IsGhost)
            {
                left -= ParenthesisGap + MusicFont.Bounds(Smufl.ParenthesisLeft).Width;
                right += ParenthesisGap + MusicFont.Bounds(Smufl.ParenthesisRight).Width;
            }

            if (LedgersOf(head.Y).Any())
                (left, right) = (Math.Min(left, head.X - LedgerReach), Math.Max(right, head.Right + LedgerReach));
            if (head.Note.Graces.Count > 0)
                left = Math.Min(left, GraceLeft(head, 0) - 0.1);
            Left = Math.Max(Left, -left);
            HeadsRight = Math.Max(HeadsRight, right);
        }

        Right = HeadsRight + (happening.Value.Dots * DotWidth);
        if (flagged && stemUp)
            Right = Math.Max(Right, StemX + FlagWidth);
    }

    public ChartEvent Event { get; }
    public IReadOnlyList<HeadShape> Heads { get; }
    public bool StemUp { get; }

    /// <summary>Carries flags of its own rather than a beam.</summary>
    public bool Flagged { get; }

    /// <summary>Reach to the left of the origin, at least 0.</summary>
    public double Left { get; }

    /// <summary>Reach of heads and parentheses to the right of the origin.</summary>
    public double HeadsRight { get; }

    /// <summary>Reach to the right of the origin with dots and flag.</summary>
    public double Right { get; }

    /// <summary>Centre of the stem.</summary>
    public double StemX { get; }

    public double TopY => Heads.Min(head => head.Y);
    public double BottomY => Heads.Max(head => head.Y);

    /// <summary>Where the stem leaves the notehead at its far end.</summary>
    public double StemStartY
    {
        get
        {
            HeadShape far = StemUp ? Heads.MaxBy(head => head.Y) : Heads.MinBy(head => head.Y);
            (double X, double Y)? joint = MusicFont.Anchor(far.GlyphName, StemUp ? "stemUpSE" : "stemDownNW");
            return far.Y + (joint?.Y ?? 0);
        }
    }

    public static ChordShape Of(ChartEvent happening, bool stemUp, bool beamed)
    {
        const double halfStem = StaffLook.StemThickness / 2;
        var heads = new List<HeadShape>(happening.Notes.Count);
        double width = 0;
        foreach (ChartNote note in happening.Notes)
        {
            StaffPlace place = DrumStaff.Place(note.Piece);
            (int code, string name) = Smufl.Notehead(DrumStaff.HeadOf(note.Piece, note.Marks), happening.Value);
            heads.Add(new HeadShape(note, code, name, 0, -place.StepsAboveMiddle / 2.0));
            width = Math.Max(width, heads[^1].StemSide);
        }

        double stemX = stemUp ? width - halfStem : halfStem;

        // Right edges meet the stem; of two heads a step or less apart the upper one (the later one in a
        // chord from low to high) goes to the other side of a rising stem, the lower one of a hanging stem.
        for (int i = 0; i < heads.Count; i++)
            heads[i] = heads[i] with { X = stemUp ? width - heads[i].StemSide : 0 };
        int columns = 0;
        for (int i = 1; i < heads.Count; i++)
        {
            bool close = heads[i - 1].Y - heads[i].Y < 0.75;
            columns = close ? columns + 1 : 0;
            if (columns > 0)
                heads[i] = heads[i] with { X = ((width - StaffLook.StemThickness) * columns) };
        }

        return new ChordShape(happening, heads, stemUp, !beamed && happening.Value.Flags > 0, stemX);
    }

    /// <summary>
    /// Left edge of a grace note's head, from the column's origin. A lone grace note stands further off
    /// than the last of a beamed pair, to leave room for its flag.
    /// </summary>
    public static double GraceLeft(HeadShape head, int index)
    {
        int count = head.Note.Graces.Count;
        double width = MusicFont.Bounds(head.Codepoint).Right * GraceScale;
        double bracket = head.IsGhost ? ParenthesisGap + MusicFont.Bounds(Smufl.ParenthesisLeft).Width + 0.15 : 0;
        return head.Left - bracket - 0.35 - (count == 1 ? 0.5 : 0) - width - ((count - 1 - index) * GraceStep);
    }

    /// <summary>Heights of the ledger lines that a notehead needs.</summary>
    public static IEnumerable<double> LedgersOf(double y)
    {
        for (double line = -3; line >= y; line--)
            yield return line;
        for (double line = 3; line <= y; line++)
            yield return line;
    }
}
