namespace Hindbeat.Charting;

/// <summary>Draws what belongs to the heads of one event: ledger lines, heads, parentheses, dots and grace notes.</summary>
internal static class NoteEngraver
{
    private const double DotGap = 0.38;

    /// <param name="withHits">False in the key, whose notes stand for no stroke.</param>
    public static void Draw(SystemInk ink, ChordShape shape, double x, bool withHits = true, PlayedPlaces? played = null)
    {
        if (played is not null)
            DrawHairline(ink, shape, x);
        DrawLedgers(ink, shape, x);
        foreach (HeadShape head in shape.Heads)
        {
            int? hit = withHits ? head.Note.Hit : null;
            double shift = played?.Shift(head.Note) ?? 0;
            double size = played is null ? 1 : PlayedPlaces.SizeOf(head.Note.Velocity);
            double middle = MusicFont.Bounds(head.Codepoint).Right / 2;
            ink.Glyph(InkRole.Note, head.Codepoint, x + shift + head.X + (middle * (1 - size)), head.Y, hit, size);
            if (head.IsGhost)
                Parentheses.Draw(ink, x + shift + head.ParenthesisLeft, x + shift + head.ParenthesisRight, head.Y, hit);

            DrawGraces(ink, head, shape.StemUp, x + Math.Min(PlayedPlaces.MostGraceShift, shift), withHits);
        }

        // A head that was struck late takes its dot with it.
        DrawDots(ink, shape, x + (played?.DotShift(shape) ?? 0));
    }

    /// <summary>The written place, through the middle of where the heads would stand.</summary>
    private static void DrawHairline(SystemInk ink, ChordShape shape, double x)
    {
        double middle = x + (MusicFont.Bounds(shape.Heads[0].Codepoint).Right / 2);
        ink.Line(InkRole.Measure, middle, shape.TopY - 1.1, middle, shape.BottomY + 1.1, 0.07);
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
                ink.Glyph(InkRole.Mark, Smufl.AugmentationDot, x + shape.DotsLeft + DotGap + (dot * 0.6), y);
        }
    }

    /// <summary>
    /// Small notes, stems like their voice's: a slashed flag for a flam, two beams for a drag.
    /// </summary>
    private static void DrawGraces(SystemInk ink, HeadShape head, bool up, double x, bool withHits)
    {
        int count = head.GraceLefts.Count;
        if (count == 0)
            return;
        const double scale = ChordShape.GraceScale;
        const double stem = StaffLook.StemThickness * scale;
        double side = up ? 1 : -1;
        double tip = head.Y - (side * 2.3);
        (double X, double Y) joint = MusicFont.Anchor(head.GlyphName, up ? "stemUpSE" : "stemDownNW") ?? (up ? head.StemSide : 0, 0);
        var stems = new double[count];
        for (int i = 0; i < count; i++)
        {
            double left = x + head.GraceLefts[i];
            int? hit = withHits ? head.Note.Graces[i].Hit ?? head.Note.Hit : null;
            ink.Glyph(InkRole.Note, head.Codepoint, left, head.Y, hit, scale);
            stems[i] = left + (joint.X * scale) - (side * stem / 2);
            ink.Line(InkRole.Stem, stems[i], head.Y + (joint.Y * scale), stems[i], tip, stem);
        }

        if (count == 1)
        {
            ink.Glyph(InkRole.Stem, Smufl.Flag(1, up), stems[0] - (stem / 2), tip, scale: scale);
            ink.Line(InkRole.Stem, stems[0] - 0.45, tip + (side * 1.35), stems[0] + 0.6, tip + (side * 0.45), stem);
            return;
        }

        for (int level = 0; level < 2; level++)
        {
            double y = tip + (side * ((level * 0.48) + 0.15));
            ink.Line(InkRole.Beam, stems[0] - (stem / 2), y, stems[^1] + (stem / 2), y, 0.3);
        }
    }
}
