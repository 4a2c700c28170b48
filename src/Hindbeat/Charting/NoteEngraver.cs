namespace Hindbeat.Charting;

/// <summary>Draws what belongs to the heads of one event: ledger lines, heads, parentheses, dots and grace notes.</summary>
internal static class NoteEngraver
{
    private const double DotGap = 0.38;

    /// <param name="withHits">False in the key, whose notes stand for no stroke.</param>
    public static void Draw(SystemInk ink, ChordShape shape, double x, bool withHits = true)
    {
        DrawLedgers(ink, shape, x);
        foreach (HeadShape head in shape.Heads)
        {
            int? hit = withHits ? head.Note.Hit : null;
            ink.Glyph(InkRole.Note, head.Codepoint, x + head.X, head.Y, hit);
            if (head.IsGhost)
            {
                Box bracket = MusicFont.Bounds(Smufl.ParenthesisLeft);
                ink.Glyph(InkRole.Note, Smufl.ParenthesisLeft, x + head.Left - ChordShape.ParenthesisGap - bracket.Right, head.Y, hit);
                ink.Glyph(InkRole.Note, Smufl.ParenthesisRight, x + head.Right + ChordShape.ParenthesisGap - MusicFont.Bounds(Smufl.ParenthesisRight).Left, head.Y, hit);
            }

            DrawGraces(ink, head, x, withHits);
        }

        DrawDots(ink, shape, x);
    }

    private static void DrawLedgers(SystemInk ink, ChordShape shape, double x)
    {
        foreach (IGrouping<double, HeadShape> line in shape.Heads
            .SelectMany(head => ChordShape.LedgersOf(head.Y).Select(y => (y, head)))
            .GroupBy(pair => pair.y, pair => pair.head))
        {
            double left = x + line.Min(head => head.Left) - StaffLook.LedgerReach;
            double right = x + line.Max(head => head.Right) + StaffLook.LedgerReach;
            ink.Line(InkRole.Staff, left, line.Key, right, line.Key, StaffLook.LedgerLine);
        }
    }

    /// <summary>One dot a head, in the space; a head on a line has it in the space above.</summary>
    private static void DrawDots(SystemInk ink, ChordShape shape, double x)
    {
        double[] heights = [.. shape.Heads.Select(head => Math.Floor(head.Y) == head.Y ? head.Y - 0.5 : head.Y).Distinct()];
        for (int dot = 0; dot < shape.Event.Value.Dots; dot++)
        {
            foreach (double y in heights)
                ink.Glyph(InkRole.Mark, Smufl.AugmentationDot, x + shape.HeadsRight + DotGap + (dot * 0.6), y);
        }
    }

    /// <summary>Small notes with the stem up: a slashed flag for a flam, joined by two beams for a drag.</summary>
    private static void DrawGraces(SystemInk ink, HeadShape head, double x, bool withHits)
    {
        int count = head.Note.Graces.Count;
        if (count == 0)
            return;
        const double scale = ChordShape.GraceScale;
        Box full = MusicFont.Bounds(head.Codepoint);
        var stems = new double[count];
        double tip = head.Y - 2.3;
        for (int i = 0; i < count; i++)
        {
            double left = x + ChordShape.GraceLeft(head, i);
            int? hit = withHits ? head.Note.Graces[i].Hit ?? head.Note.Hit : null;
            ink.Glyph(InkRole.Note, head.Codepoint, left, head.Y, hit, scale);
            stems[i] = left + (full.Right * scale) - (StaffLook.StemThickness * scale / 2);
            (double X, double Y)? joint = MusicFont.Anchor(head.GlyphName, "stemUpSE");
            ink.Line(InkRole.Stem, stems[i], head.Y + ((joint?.Y ?? 0) * scale), stems[i], tip, StaffLook.StemThickness * scale);
        }

        if (count == 1)
        {
            ink.Glyph(InkRole.Stem, Smufl.Flag(1, up: true), stems[0] - (StaffLook.StemThickness * scale / 2), tip, scale: scale);
            ink.Line(InkRole.Stem, stems[0] - 0.45, tip + 1.35, stems[0] + 0.6, tip + 0.45, StaffLook.StemThickness * scale);
            return;
        }

        for (int level = 0; level < 2; level++)
        {
            double y = tip + (level * 0.48);
            ink.Line(InkRole.Beam, stems[0], y + 0.15, stems[^1], y + 0.15, 0.3);
        }
    }
}
