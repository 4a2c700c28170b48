using SkiaSharp;

namespace Hindbeat.Charting;

/// <summary>Writes pages as one PDF: vector outlines from the same display list, one point = 1/72 inch, a bookmark a system.</summary>
public static class PdfPages
{
    private const double PointsPerMillimetre = 72.0 / 25.4;

    public static void Write(IReadOnlyList<DisplayPage> pages, Stream stream)
    {
        ArgumentNullException.ThrowIfNull(pages);
        ArgumentNullException.ThrowIfNull(stream);
        if (pages.Count == 0)
            throw new ArgumentException("A PDF needs at least one page.", nameof(pages));
        using var plain = new MemoryStream();
        Draw(pages, plain);
        PdfBookmark[] marks = [.. pages.SelectMany((page, i) => page.Bookmarks.Select(mark =>
            new PdfBookmark(mark.Name, i, (page.Height - mark.Y) * PointsPerMillimetre)))];
        stream.Write(PdfBookmarks.Add(plain.ToArray(), marks));
    }

    private static void Draw(IReadOnlyList<DisplayPage> pages, Stream stream)
    {
        using SKDocument document = SKDocument.CreatePdf(stream, new SKDocumentPdfMetadata { Title = pages[0].Title, Subject = pages[0].Description, Creator = "Hindbeat" })
            ?? throw new InvalidOperationException("This build of Skia cannot write PDF.");
        foreach (DisplayPage page in pages)
        {
            SKCanvas canvas = document.BeginPage((float)(page.Width * PointsPerMillimetre), (float)(page.Height * PointsPerMillimetre));
            canvas.Scale((float)PointsPerMillimetre);
            PagePainter.Paint(page, canvas);
            document.EndPage();
        }

        document.Close();
    }
}
