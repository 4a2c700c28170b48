namespace Hindbeat.Charting;

/// <summary>
/// Places rests by voice: in the middle when the voice is alone in its bar, else hands one space up and
/// feet two spaces down, and further when a note of the other voice stands there. When both voices rest
/// alike at the same place one rest in the middle serves both.
/// </summary>
internal static class RestEngraver
{
    private const double DotGap = 0.3;
    private const double Air = 0.25;

    /// <summary>Middle of the rests of hands and feet where both voices are printed, in spaces below the middle line.</summary>
    private const double HandsLine = -1;

    /// <inheritdoc cref="HandsLine"/>
    private const double FeetLine = 2;

    public static void Draw(SystemInk ink, ChartEvent rest, double x, bool hands, BarLayout layout, ChartVoice other)
    {
        if (rest.Hidden || rest.FillsBar)
            return;
        ChartEvent? twin = other.Events.FirstOrDefault(happening => happening.At == rest.At && happening.IsRest && !happening.Hidden && happening.Value == rest.Value);
        if (twin is not null && !hands)
            return;

        double y = twin is not null || other.Events.All(happening => happening.Hidden) ? 0 : hands ? HandsLine : FeetLine;
        int glyph = Smufl.Rest(rest.Value);
        if (twin is null)
            y = ClearOf(other, rest, layout, glyph, y, hands);
        ChartEvent? below = hands && twin is null
            ? other.Events.FirstOrDefault(happening => happening.At == rest.At && happening.IsRest && !happening.Hidden)
            : null;
        while (below is not null && y + MusicFont.Bounds(glyph).Bottom + Air > FeetLine + MusicFont.Bounds(Smufl.Rest(below.Value)).Top)
            y--;
        ink.Glyph(InkRole.Rest, glyph, x, y);
        for (int dot = 0; dot < rest.Value.Dots; dot++)
            ink.Glyph(InkRole.Mark, Smufl.AugmentationDot, x + MusicFont.Bounds(glyph).Right + DotGap + (dot * 0.6), y - 0.5);
    }

    /// <summary>The rest of a bar in which nobody plays: a whole rest under the fourth line, in the middle of the bar.</summary>
    public static void DrawWholeBar(SystemInk ink, double left, double right)
    {
        Box box = MusicFont.Bounds(Smufl.Rest(new NoteValue(0)));
        ink.Glyph(InkRole.Rest, Smufl.Rest(new NoteValue(0)), ((left + right) / 2) - (box.Width / 2), -1);
    }

    /// <summary>Moves by whole spaces, so that the rest keeps its relation to the lines.</summary>
    private static double ClearOf(ChartVoice other, ChartEvent rest, BarLayout layout, int glyph, double y, bool hands)
    {
        Box box = MusicFont.Bounds(glyph);
        foreach (ChartEvent happening in other.Events)
        {
            if (happening.At < rest.At || happening.At >= rest.End || !layout.Shapes.TryGetValue(happening, out ChordShape? shape))
                continue;
            if (happening.At > rest.At)
                break;
            while (hands ? y + box.Bottom + Air > shape.Ink.Top : y + box.Top - Air < shape.Ink.Bottom)
                y += hands ? -1 : 1;
        }

        return y;
    }
}
