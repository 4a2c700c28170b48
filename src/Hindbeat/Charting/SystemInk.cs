namespace Hindbeat.Charting;

/// <summary>
/// Marks of one system in staff spaces: x from the left margin, y downwards from the middle line. What is
/// drawn is also entered in the skyline, so that later marks keep clear of it.
/// </summary>
internal sealed class SystemInk
{
    private readonly List<DisplayItem> _items = [];

    public IReadOnlyList<DisplayItem> Items => _items;

    /// <summary>What a bookmark calls it; null for none.</summary>
    public string? Name { get; init; }

    public Skyline Skyline { get; } = new();

    /// <summary>Ink above and below the middle line.</summary>
    public Box Extent { get; private set; } = new(0, StaffLook.StaffTop, 1, StaffLook.StaffBottom);

    public void Glyph(InkRole role, int codepoint, double x, double y, int? hit = null, double scale = 1.0) =>
        Add(new GlyphItem(role, hit, codepoint, x, y, MusicFont.SpacesPerEm * scale));

    public void Line(InkRole role, double x1, double y1, double x2, double y2, double thickness, int? hit = null) =>
        Add(new LineItem(role, hit, x1, y1, x2, y2, thickness));

    public void Beam(double x1, double y1, double x2, double y2) =>
        Add(new BeamItem(x1, y1, x2, y2, StaffLook.BeamThickness));

    public void Text(InkRole role, string text, TextCut cut, double x, double y, double em) =>
        Add(new TextItem(role, text, cut, x, y, em));

    private void Add(DisplayItem item)
    {
        _items.Add(item);
        Box bounds = item.Bounds;
        if (item.Role != InkRole.Staff)
            Skyline.Add(bounds);
        Extent = Extent.Union(bounds);
    }
}
