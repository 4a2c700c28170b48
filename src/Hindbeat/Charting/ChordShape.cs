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

    /// <summary>Right edge of the opening and left edge of the closing parenthesis of a ghost.</summary>
    public double ParenthesisLeft { get; init; }

    /// <inheritdoc cref="ParenthesisLeft"/>
    public double ParenthesisRight { get; init; }

    /// <summary>Left edges of the grace notes' heads.</summary>
    public IReadOnlyList<double> GraceLefts { get; init; } = [];

    public bool IsGhost => Note.Marks.HasFlag(HitMarks.Ghost);

    /// <summary>Outermost ink to the left: head, parenthesis or first grace note.</summary>
    public double OuterLeft => GraceLefts.Count > 0 ? GraceLefts[0] - 0.1 : IsGhost ? ParenthesisLeft - Parentheses.Width : Left;

    /// <summary>Outermost ink to the right: head or parenthesis.</summary>
    public double OuterRight => IsGhost ? ParenthesisRight + Parentheses.Width : Right;

    /// <summary>Half the height of its ink.</summary>
    public double HalfHeight => IsGhost ? Parentheses.HalfHeight : 0.5;
}

/// <summary>The noteheads of one event, with how far it reaches to both sides of its column.</summary>
internal sealed class ChordShape
{

    /// <summary>Size of grace notes against full size (common practice, no source).</summary>
    public const double GraceScale = 0.62;

    private const double FlagWidth = 1.1;
    private const double DotWidth = 0.75;

    /// <summary>A dot stands at its head's height or half a space above.</summary>
    private const double DotNear = 0.75;

    private ChordShape(ChartEvent happening, IReadOnlyList<HeadShape> heads, bool stemUp, bool flagged, double stemX, ChordShape? hands)
    {
        StemX = stemX;
        Event = happening;
        Heads = heads;
        StemUp = stemUp;
        Flagged = flagged;
        foreach (HeadShape head in heads)
        {
            double left = Math.Min(head.OuterLeft, head.IsGhost ? head.ParenthesisLeft - Parentheses.Width : head.Left);
            double right = head.OuterRight;
            if (LedgersOf(head.Y).Any())
                (left, right) = (Math.Min(left, head.Left - StaffLook.LedgerReach), Math.Max(right, head.Right + StaffLook.LedgerReach));
            Left = Math.Max(Left, -left);
            HeadsRight = Math.Max(HeadsRight, right);
        }

        // A flag from a rising stem hangs down to the dots: they go behind it.
        DotsLeft = flagged && stemUp ? Math.Max(HeadsRight, StemX + FlagWidth - 0.2) : HeadsRight;
        foreach (HeadShape head in heads)
            DotsLeft = Math.Max(DotsLeft, ChordSides.Beside(hands, head.Y, DotNear)?.Right ?? 0);
        Right = happening.Value.Dots > 0 ? DotsLeft + (happening.Value.Dots * DotWidth)
            : flagged && stemUp ? Math.Max(HeadsRight, StemX + FlagWidth)
            : HeadsRight;
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

    /// <summary>What the dots must stand to the right of.</summary>
    public double DotsLeft { get; }

    /// <summary>Reach to the right of the origin with dots and flag.</summary>
    public double Right { get; }

    /// <summary>Centre of the stem.</summary>
    public double StemX { get; }

    /// <summary>Upper and lower end of heads and parentheses.</summary>
    public (double Top, double Bottom) Ink => (Heads.Min(head => head.Y - head.HalfHeight), Heads.Max(head => head.Y + head.HalfHeight));

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

    /// <param name="hands">Of a chord of the feet: what the hands have at the same place.</param>
    /// <param name="feet">Of a chord of the hands: what the feet have there, for its heads.</param>
    public static ChordShape Of(ChartEvent happening, bool stemUp, bool beamed, StaffMap staff, ChordShape? hands = null, ChordShape? feet = null)
    {
        const double halfStem = StaffLook.StemThickness / 2;
        var heads = new List<HeadShape>(happening.Notes.Count);
        double width = 0;
        foreach (ChartNote note in happening.Notes)
        {
            StaffPlace place = staff.Place(note.Piece);
            (int code, string name) = Smufl.Notehead(staff.HeadOf(note.Piece, note.Marks), happening.Value);
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
                heads[i] = heads[i] with { X = width * columns };
        }

        ChordSides.Place(heads, hands, feet?.Heads ?? []);
        return new ChordShape(happening, heads, stemUp, !beamed && happening.Value.Flags > 0, stemX, hands);
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
