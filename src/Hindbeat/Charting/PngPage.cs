using SkiaSharp;

namespace Hindbeat.Charting;

/// <summary>Writes a page as PNG.</summary>
public static class PngPage
{
    private const double MillimetresPerInch = 25.4;

    /// <param name="dpi">Dots an inch, 20 to 1200.</param>
    public static void Write(DisplayPage page, Stream stream, double dpi)
    {
        ArgumentNullException.ThrowIfNull(page);
        ArgumentNullException.ThrowIfNull(stream);
        if (!(dpi is >= 20 and <= 1200))
            throw new ArgumentOutOfRangeException(nameof(dpi), dpi, "A picture has 20 to 1200 dots an inch.");
        float scale = (float)(dpi / MillimetresPerInch);
        var info = new SKImageInfo((int)Math.Ceiling(page.Width * scale), (int)Math.Ceiling(page.Height * scale), SKColorType.Rgba8888, SKAlphaType.Premul);
        using SKSurface surface = SKSurface.Create(info);
        surface.Canvas.Clear(SKColors.White);
        surface.Canvas.Scale(scale);
        PagePainter.Paint(page, surface.Canvas);
        using SKImage image = surface.Snapshot();
        using SKData data = image.Encode(SKEncodedImageFormat.Png, 100);
        data.SaveTo(stream);
    }
}
