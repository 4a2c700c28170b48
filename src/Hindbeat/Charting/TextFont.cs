using SkiaSharp;

namespace Hindbeat.Charting;

/// <summary>Cuts of the text face.</summary>
public enum TextCut
{
    Regular,
    Italic,
    SemiBold,
}

/// <summary>The text face of titles, directions and figures: Source Serif 4, set as outlines.</summary>
internal static class TextFont
{
    private const float OutlineEm = 1000f;

    private static readonly SKTypeface[] Typefaces =
    [
        FontFiles.Load("SourceSerif4_400Regular.ttf"),
        FontFiles.Load("SourceSerif4_400Regular_Italic.ttf"),
        FontFiles.Load("SourceSerif4_600SemiBold.ttf"),
    ];

    /// <summary>Advance width for an em of 1.</summary>
    public static double Width(string text, TextCut cut)
    {
        using SKFont font = Font(cut);
        return font.MeasureText(text) / OutlineEm;
    }

    /// <summary>Ink box for an em of 1, y downwards, origin at the start of the baseline.</summary>
    public static Box Bounds(string text, TextCut cut)
    {
        using SKPath outline = Outline(text, cut);
        SKRect ink = outline.TightBounds;
        return new Box(ink.Left, ink.Top, ink.Right, ink.Bottom);
    }

    /// <summary>Outlines for an em of 1, y downwards, origin at the start of the baseline. The caller disposes of it.</summary>
    public static SKPath Outline(string text, TextCut cut)
    {
        using SKFont font = Font(cut);
        using SKPath large = font.GetTextPath(text, SKPoint.Empty) ?? new SKPath();
        var outline = new SKPath();
        large.Transform(SKMatrix.CreateScale(1f / OutlineEm, 1f / OutlineEm), outline);
        return outline;
    }

    private static SKFont Font(TextCut cut) =>
        new(Typefaces[(int)cut], OutlineEm) { Hinting = SKFontHinting.None, Subpixel = true, LinearMetrics = true };
}
