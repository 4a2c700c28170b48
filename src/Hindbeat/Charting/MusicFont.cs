using System.Collections.Concurrent;
using System.Text.Json;
using SkiaSharp;

namespace Hindbeat.Charting;

/// <summary>Left, top, right and bottom in staff spaces or millimetres, y downwards.</summary>
public readonly record struct Box(double Left, double Top, double Right, double Bottom)
{
    public double Width => Right - Left;
    public double Height => Bottom - Top;

    public Box Shifted(double dx, double dy) => new(Left + dx, Top + dy, Right + dx, Bottom + dy);

    /// <summary>Scaled about the origin.</summary>
    public Box Scaled(double factor) => new(Left * factor, Top * factor, Right * factor, Bottom * factor);

    public bool Overlaps(Box other) =>
        Left < other.Right && other.Left < Right && Top < other.Bottom && other.Top < Bottom;

    public Box Union(Box other) =>
        new(Math.Min(Left, other.Left), Math.Min(Top, other.Top), Math.Max(Right, other.Right), Math.Max(Bottom, other.Bottom));
}

/// <summary>
/// The music glyphs: Bravura, a font after SMuFL (W3C Music Notation Community Group), whose em is four
/// staff spaces. Outlines and boxes come from the font file, stem joints from its metadata.
/// </summary>
internal static class MusicFont
{
    /// <summary>One em is four staff spaces (SMuFL 1.4, "Metrics").</summary>
    public const double SpacesPerEm = 4.0;

    private const float OutlineEm = 1000f;

    private static readonly SKTypeface Typeface = FontFiles.Load("Bravura.otf");
    private static readonly ConcurrentDictionary<int, (SKPath Outline, Box Box)> Glyphs = new();
    private static readonly Dictionary<string, JsonElement> Anchors = ReadAnchors();

    /// <summary>The outline for an em of 1 unit, y downwards, origin on the baseline. Do not change it.</summary>
    public static SKPath Outline(int codepoint) => Glyph(codepoint).Outline;

    /// <summary>Ink box in staff spaces, y downwards, from the outline itself.</summary>
    public static Box Bounds(int codepoint) => Glyph(codepoint).Box;

    /// <summary>A joint such as <c>stemUpSE</c> in staff spaces, y downwards; null when the font names none.</summary>
    public static (double X, double Y)? Anchor(string glyphName, string anchor) =>
        Anchors.TryGetValue(glyphName, out JsonElement glyph) && glyph.TryGetProperty(anchor, out JsonElement point)
            ? (point[0].GetDouble(), -point[1].GetDouble())
            : null;

    private static (SKPath Outline, Box Box) Glyph(int codepoint) => Glyphs.GetOrAdd(codepoint, static code =>
    {
        using var font = new SKFont(Typeface, OutlineEm) { Hinting = SKFontHinting.None, Subpixel = true, LinearMetrics = true };
        ushort glyph = font.GetGlyph(code);
        if (glyph == 0)
            throw new ArgumentOutOfRangeException(nameof(codepoint), code, "The music font has no such glyph.");
        using SKPath large = font.GetGlyphPath(glyph) ?? new SKPath();
        var outline = new SKPath();
        large.Transform(SKMatrix.CreateScale(1f / OutlineEm, 1f / OutlineEm), outline);
        SKRect ink = outline.TightBounds;
        var box = new Box(ink.Left * SpacesPerEm, ink.Top * SpacesPerEm, ink.Right * SpacesPerEm, ink.Bottom * SpacesPerEm);
        return (outline, box);
    });

    private static Dictionary<string, JsonElement> ReadAnchors()
    {
        using Stream stream = FontFiles.Open("bravura-metadata.json");
        using JsonDocument document = JsonDocument.Parse(stream);
        return document.RootElement.GetProperty("glyphsWithAnchors").EnumerateObject()
            .ToDictionary(glyph => glyph.Name, glyph => glyph.Value.Clone(), StringComparer.Ordinal);
    }
}

/// <summary>The font files carried inside the assembly.</summary>
internal static class FontFiles
{
    public static Stream Open(string name) =>
        typeof(FontFiles).Assembly.GetManifestResourceStream("Hindbeat.Charting.Fonts." + name)
        ?? throw new InvalidOperationException($"The font file {name} is missing from the assembly.");

    public static SKTypeface Load(string name)
    {
        using Stream stream = Open(name);
        using SKData data = SKData.Create(stream);
        return SKTypeface.FromData(data) ?? throw new InvalidOperationException($"{name} is not a font that can be read.");
    }
}
