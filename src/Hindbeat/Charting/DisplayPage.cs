namespace Hindbeat.Charting;

/// <summary>What a mark is for; it names the class in SVG and chooses the ink.</summary>
public enum InkRole
{
    Staff,
    Note,
    Rest,
    Stem,
    Beam,
    Mark,
    Tuplet,
    Text,

    /// <summary>Measurements and our own words: set in the accent colour.</summary>
    Measure,
}

/// <summary>One mark on a page. Coordinates are millimetres from the page's top left corner, y downwards.</summary>
/// <param name="Hit">Index of the hit it draws, or null.</param>
public abstract record DisplayItem(InkRole Role, int? Hit)
{
    public abstract Box Bounds { get; }

    internal abstract DisplayItem Placed(double scale, double dx, double dy);
}

/// <summary>A music glyph, its origin on its baseline.</summary>
/// <param name="Em">Size in millimetres: four staff spaces for full size.</param>
public sealed record GlyphItem(InkRole Role, int? Hit, int Codepoint, double X, double Y, double Em) : DisplayItem(Role, Hit)
{
    public override Box Bounds => MusicFont.Bounds(Codepoint).Scaled(Em / MusicFont.SpacesPerEm).Shifted(X, Y);

    internal override DisplayItem Placed(double scale, double dx, double dy) =>
        this with { X = (X * scale) + dx, Y = (Y * scale) + dy, Em = Em * scale };
}

/// <summary>A straight line with square ends.</summary>
public sealed record LineItem(InkRole Role, int? Hit, double X1, double Y1, double X2, double Y2, double Thickness) : DisplayItem(Role, Hit)
{
    public override Box Bounds
    {
        get
        {
            bool upright = Math.Abs(X2 - X1) < Math.Abs(Y2 - Y1);
            double half = Thickness / 2;
            return new Box(
                Math.Min(X1, X2) - (upright ? half : 0), Math.Min(Y1, Y2) - (upright ? 0 : half),
                Math.Max(X1, X2) + (upright ? half : 0), Math.Max(Y1, Y2) + (upright ? 0 : half));
        }
    }

    internal override DisplayItem Placed(double scale, double dx, double dy) => this with
    {
        X1 = (X1 * scale) + dx,
        Y1 = (Y1 * scale) + dy,
        X2 = (X2 * scale) + dx,
        Y2 = (Y2 * scale) + dy,
        Thickness = Thickness * scale,
    };
}

/// <summary>A filled parallelogram with upright sides: a beam.</summary>
/// <param name="Y1">Top edge at the left end.</param>
/// <param name="Y2">Top edge at the right end.</param>
public sealed record BeamItem(double X1, double Y1, double X2, double Y2, double Thickness) : DisplayItem(InkRole.Beam, null)
{
    public override Box Bounds => new(X1, Math.Min(Y1, Y2), X2, Math.Max(Y1, Y2) + Thickness);

    internal override DisplayItem Placed(double scale, double dx, double dy) => this with
    {
        X1 = (X1 * scale) + dx,
        Y1 = (Y1 * scale) + dy,
        X2 = (X2 * scale) + dx,
        Y2 = (Y2 * scale) + dy,
        Thickness = Thickness * scale,
    };
}

/// <summary>A line of text, set as outlines.</summary>
/// <param name="X">Left end of the baseline.</param>
/// <param name="Em">Size in millimetres.</param>
public sealed record TextItem(InkRole Role, string Text, TextCut Cut, double X, double Y, double Em) : DisplayItem(Role, null)
{
    public override Box Bounds => TextFont.Bounds(Text, Cut).Scaled(Em).Shifted(X, Y);

    internal override DisplayItem Placed(double scale, double dx, double dy) =>
        this with { X = (X * scale) + dx, Y = (Y * scale) + dy, Em = Em * scale };
}

/// <param name="Name">"Bars 5 to 8".</param>
/// <param name="Y">Upper edge, millimetres from the page's top.</param>
public sealed record PageBookmark(string Name, double Y);

/// <summary>One page, ready to be drawn by any writer: a flat list of marks in reading order.</summary>
public sealed record DisplayPage
{
    public required string Title { get; init; }
    public required int Number { get; init; }
    public required int PageCount { get; init; }

    /// <summary>Millimetres.</summary>
    public required double Width { get; init; }

    /// <summary>Millimetres.</summary>
    public required double Height { get; init; }

    public required PageInk Ink { get; init; }

    public required IReadOnlyList<DisplayItem> Items { get; init; }

    /// <summary>Places that a reader may want to go to, from top to bottom.</summary>
    public IReadOnlyList<PageBookmark> Bookmarks { get; init; } = [];

    /// <summary>What each written stroke is in words, by hit: "bar 1, beat 2 + 1/4: snare, ghost".</summary>
    public required IReadOnlyDictionary<int, string> StrokeNames { get; init; }

    /// <summary>The page in a sentence, for those who cannot see it.</summary>
    public required string Description { get; init; }
}
