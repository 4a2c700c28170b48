namespace Hindbeat.Charting;

/// <summary>
/// The parentheses of a ghost stroke, larger than the font's: at their own size they are thinner than a staff line and
/// vanish at two metres (looked at on rendered pages).
/// </summary>
internal static class Parentheses
{
    private const double Scale = 1.3;

    public static readonly double Width = MusicFont.Bounds(Smufl.ParenthesisLeft).Width * Scale;

    /// <summary>From the middle of the head to their ends, in spaces.</summary>
    public static readonly double HalfHeight = MusicFont.Bounds(Smufl.ParenthesisLeft).Height * Scale / 2;

    /// <param name="left">Right edge of the opening one.</param>
    /// <param name="right">Left edge of the closing one.</param>
    public static void Draw(SystemInk ink, double left, double right, double y, int? hit)
    {
        ink.Glyph(InkRole.Note, Smufl.ParenthesisLeft, left - (MusicFont.Bounds(Smufl.ParenthesisLeft).Right * Scale), y, hit, Scale);
        ink.Glyph(InkRole.Note, Smufl.ParenthesisRight, right - (MusicFont.Bounds(Smufl.ParenthesisRight).Left * Scale), y, hit, Scale);
    }
}
