namespace Hindbeat.Charting;

/// <summary>Colours as #rrggbb; a null paper leaves the ground bare for printing.</summary>
public sealed record PageInk(string? Paper, string Ink, string Accent)
{
    /// <summary>Near black on a warm sheet, measurements in brick red (contrast on the paper 6.5 : 1, on white 7.0 : 1, computed after WCAG 2.2).</summary>
    public static PageInk Warm { get; } = new("#fbf6ec", "#1d1a16", "#9a3a1c");

    /// <summary>The same inks on bare paper.</summary>
    public static PageInk Print { get; } = new(null, "#1d1a16", "#9a3a1c");
}

/// <summary>Paper, margins and sizes, all in millimetres.</summary>
public sealed record PageFormat
{
    /// <summary>
    /// 1.9 mm a space, a staff of 7.6 mm: at two metres, from the drum stool to the stand, a notehead is
    /// then 3.3 arc minutes high (computed), against 2.8 on the 6.5 mm staff of a book held close. Range 1 to 4.
    /// </summary>
    public const double DefaultStaffSpace = 1.9;

    public double Width { get; init; } = 210.0;
    public double Height { get; init; } = 297.0;
    public double SideMargin { get; init; } = 15.0;
    public double TopMargin { get; init; } = 15.0;
    public double BottomMargin { get; init; } = 14.0;
    public double StaffSpace { get; init; } = DefaultStaffSpace;
    public PageInk Ink { get; init; } = PageInk.Warm;

    /// <summary>Whether pages of one chart are numbered by themselves; not where they are part of something longer.</summary>
    public bool NumbersPages { get; init; } = true;

    /// <summary>
    /// For a screen: one sheet without title, margins or page number that is exactly as tall as its
    /// music; the page around it has a title of its own.
    /// </summary>
    public bool IsScroll { get; init; }

    /// <summary>One sheet for a screen, of this width in millimetres, on bare paper.</summary>
    public static PageFormat Scroll(double width) => new()
    {
        Width = width,
        Height = double.MaxValue,
        SideMargin = 0,
        TopMargin = 0,
        BottomMargin = 0,
        Ink = PageInk.Print,
        IsScroll = true,
    };

    public static PageFormat A4 { get; } = new();

    public static PageFormat Letter { get; } = new() { Width = 215.9, Height = 279.4 };

    internal void Check()
    {
        if (!(StaffSpace is >= 1.0 and <= 4.0))
            throw new ArgumentOutOfRangeException(nameof(StaffSpace), StaffSpace, "A staff space is 1 to 4 mm.");
        if (Width - (2 * SideMargin) < 60 * StaffSpace || Height - TopMargin - BottomMargin < 45 * StaffSpace)
            throw new ArgumentOutOfRangeException(nameof(Width), Width, "The page is too small for its staff size; make the page larger or the staff space smaller.");
    }
}
