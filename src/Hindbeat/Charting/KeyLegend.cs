using Hindbeat.Performances;

namespace Hindbeat.Charting;

/// <summary>
/// The key: a short staff with every piece and sign that the page uses, each with its name below. Weinberg's
/// guidelines ask that a key is always printed.
/// </summary>
internal static class KeyLegend
{
    private const double Em = 1.75;
    private const double LabelBaseline = 5.4;

    private sealed record Entry(string Name, KitPiece Piece, HitMarks Marks);

    /// <returns>One block a line, no wider than the page.</returns>
    public static List<SystemInk> Engrave(Chart chart, double width)
    {
        var blocks = new List<SystemInk>();
        List<Entry> entries = Entries(chart);
        int done = 0;
        while (done < entries.Count)
        {
            int from = done;
            double x = 1.0;
            while (done < entries.Count && (done == from || x + Slot(entries[done]) <= width))
                x += Slot(entries[done++]);
            blocks.Add(Line(entries.GetRange(from, done - from), x, chart.Staff));
        }

        return blocks;
    }

    private static double Slot(Entry entry) => Math.Max(TextFont.Width(entry.Name, TextCut.Regular) * Em, 2.2) + 1.8;

    private static SystemInk Line(List<Entry> entries, double width, StaffMap staff)
    {
        var ink = new SystemInk();
        for (int line = -2; line <= 2; line++)
            ink.Line(InkRole.Staff, 0, line, width, line, StaffLook.StaffLine);
        double x = 1.0;
        foreach (Entry entry in entries)
        {
            double centre = x + (Slot(entry) / 2);
            var note = new ChartNote(-1, entry.Piece, entry.Marks, 100, default, [.. Enumerable.Repeat(new GraceNote(null, entry.Piece, 30), entry.Marks.HasFlag(HitMarks.Drag) ? 2 : entry.Marks.HasFlag(HitMarks.Flam) ? 1 : 0)]);
            var happening = new ChartEvent(default, new Units.Fraction(1, 4), new NoteValue(2), [note]);
            ChordShape shape = ChordShape.Of(happening, stemUp: true, beamed: true, staff);
            double left = centre - (MusicFont.Bounds(shape.Heads[0].Codepoint).Width / 2);
            NoteEngraver.Draw(ink, shape, left, withHits: false);
            int sign = entry.Marks.HasFlag(HitMarks.HalfOpen) ? Smufl.HalfOpen : entry.Piece == KitPiece.HatOpen ? Smufl.Open : entry.Marks.HasFlag(HitMarks.Accent) ? Smufl.AccentAbove : entry.Marks.HasFlag(HitMarks.Choke) ? Smufl.Choke : 0;
            if (sign != 0)
            {
                double scale = sign is Smufl.Open or Smufl.HalfOpen ? MarkEngraver.HatSignScale : 1.0;
                Box box = MusicFont.Bounds(sign).Scaled(scale);
                double top = Math.Min(-2.2, shape.TopY - 0.5);
                ink.Glyph(InkRole.Mark, sign, centre - (box.Left + (box.Width / 2)), top - 0.35 - box.Bottom, null, scale);
            }

            if (entry.Marks.HasFlag(HitMarks.Buzz))
                ink.Line(InkRole.Stem, left + shape.StemX, shape.StemStartY, left + shape.StemX, shape.TopY - 3, StaffLook.StemThickness);
            if (entry.Marks.HasFlag(HitMarks.Buzz))
                MarkEngraver.Buzz(ink, left + shape.StemX, shape.TopY, shape.TopY - 3, null);

            double text = TextFont.Width(entry.Name, TextCut.Regular) * Em;
            ink.Text(InkRole.Text, entry.Name, TextCut.Regular, centre - (text / 2), LabelBaseline, Em);
            x += Slot(entry);
        }

        return ink;
    }

    private static List<Entry> Entries(Chart chart)
    {
        List<ChartNote> notes = [.. chart.Notes()];
        List<Entry> entries = [.. KitPieces.All
            .Where(piece => notes.Any(note => note.Piece == piece && !HatMarks.IsHalfOpen(note)))
            .Select(piece => new Entry(piece.Name(), piece, HitMarks.None))];
        foreach ((HitMarks mark, string name) in new[] { (HitMarks.Ghost, "ghost"), (HitMarks.Accent, "accent"), (HitMarks.Rimshot, "rimshot"), (HitMarks.Buzz, "buzz"), (HitMarks.Choke, "choked") })
        {
            ChartNote? example = notes.FirstOrDefault(note => note.Marks.HasFlag(mark) && note.Piece == KitPiece.Snare)
                ?? notes.FirstOrDefault(note => note.Marks.HasFlag(mark));
            if (example is not null)
                entries.Add(new Entry(name, example.Piece, mark));
        }

        if (notes.Find(HatMarks.IsHalfOpen) is { } half)
            entries.Add(new Entry("half-open", half.Piece, HitMarks.HalfOpen));
        foreach ((int graces, HitMarks mark, string name) in new[] { (1, HitMarks.Flam, "flam"), (2, HitMarks.Drag, "drag") })
        {
            ChartNote? example = notes.FirstOrDefault(note => note.Graces.Count == graces);
            if (example is not null)
                entries.Add(new Entry(name, example.Piece, mark));
        }

        return entries;
    }
}
