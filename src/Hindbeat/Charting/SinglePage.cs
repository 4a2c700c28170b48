using Hindbeat.Performances;

namespace Hindbeat.Charting;

/// <summary>A picture that fills one page: its title line, the order of its rows, and the page around it.</summary>
internal static class SinglePage
{
    private const double LargestTitleEm = 8.4;

    /// <summary>The title at the page's head, as large as it fits between the margins.</summary>
    public static TextItem Title(string title, PageFormat format)
    {
        double em = Math.Min(LargestTitleEm, (format.Width - (2 * format.SideMargin)) / Math.Max(1e-3, TextFont.Width(title, TextCut.SemiBold)));
        return new TextItem(InkRole.Text, title, TextCut.SemiBold, format.SideMargin, format.TopMargin + (em * 0.75), em);
    }

    /// <summary>What belongs to each piece, pieces as they lie on the staff from the top.</summary>
    public static IEnumerable<IGrouping<KitPiece, T>> ByPiece<T>(IEnumerable<T> all, Func<T, KitPiece> pieceOf) =>
        all.GroupBy(pieceOf).OrderByDescending(piece => StaffMap.Guidelines.Place(piece.Key).StepsAboveMiddle).ThenBy(piece => piece.Key);

    public static DisplayPage Of(string title, PageFormat format, double height, IReadOnlyList<DisplayItem> items, IReadOnlyDictionary<int, string> strokeNames, string description) => new()
    {
        Title = title,
        Number = 1,
        PageCount = 1,
        Width = format.Width,
        Height = height,
        Ink = format.Ink,
        Items = items,
        StrokeNames = strokeNames,
        Description = description,
    };
}
