using SkiaSharp;

namespace Hindbeat.Charting;

/// <summary>Draws a page's display list on a Skia canvas whose unit is one millimetre.</summary>
internal static class PagePainter
{
    public static void Paint(DisplayPage page, SKCanvas canvas)
    {
        using var paint = new SKPaint { IsAntialias = true };
        if (page.Ink.Paper is { } paper)
        {
            paint.Color = SKColor.Parse(paper);
            canvas.DrawRect(0, 0, (float)page.Width, (float)page.Height, paint);
        }

        SKColor ink = SKColor.Parse(page.Ink.Ink);
        SKColor accent = SKColor.Parse(page.Ink.Accent);
        foreach (DisplayItem item in page.Items)
        {
            paint.Color = item.Role == InkRole.Measure ? accent : ink;
            PaintItem(item, canvas, paint);
        }
    }

    private static void PaintItem(DisplayItem item, SKCanvas canvas, SKPaint paint)
    {
        paint.Style = item is LineItem ? SKPaintStyle.Stroke : SKPaintStyle.Fill;
        switch (item)
        {
            case GlyphItem glyph:
                PaintOutline(canvas, MusicFont.Outline(glyph.Codepoint), glyph.X, glyph.Y, glyph.Em, paint);
                break;
            case TextItem text:
                using (SKPath outline = TextFont.Outline(text.Text, text.Cut))
                    PaintOutline(canvas, outline, text.X, text.Y, text.Em, paint);
                break;
            case LineItem line:
                paint.StrokeWidth = (float)line.Thickness;
                canvas.DrawLine((float)line.X1, (float)line.Y1, (float)line.X2, (float)line.Y2, paint);
                break;
            case BeamItem beam:
                using (var builder = new SKPathBuilder())
                {
                    builder.AddPoly(
                    [
                        new SKPoint((float)beam.X1, (float)beam.Y1),
                        new SKPoint((float)beam.X2, (float)beam.Y2),
                        new SKPoint((float)beam.X2, (float)(beam.Y2 + beam.Thickness)),
                        new SKPoint((float)beam.X1, (float)(beam.Y1 + beam.Thickness)),
                    ], close: true);
                    using SKPath path = builder.Detach();
                    canvas.DrawPath(path, paint);
                }

                break;
            default:
                throw new InvalidOperationException($"No way to draw a {item.GetType().Name}.");
        }
    }

    private static void PaintOutline(SKCanvas canvas, SKPath outline, double x, double y, double em, SKPaint paint)
    {
        canvas.Save();
        canvas.Translate((float)x, (float)y);
        canvas.Scale((float)em);
        canvas.DrawPath(outline, paint);
        canvas.Restore();
    }
}
