using System.Globalization;

namespace Hindbeat.Charting;

/// <summary>Draws repeat signs: thick and thin line with two dots, "×4" above the closing one.</summary>
internal static class RepeatSigns
{
    /// <summary>What a sign takes beyond a plain bar line, in spaces.</summary>
    public const double Width = 1.9;

    private const double Half = 2 + (StaffLook.StaffLine / 2);
    private const double DotGap = 0.3;
    private const double TimesEm = 2.1;

    /// <param name="x">Left edge of the bar, where its plain bar line would end.</param>
    public static void Begin(SystemInk ink, double x)
    {
        double thick = x + (StaffLook.ThickBarline / 2);
        double thin = x + StaffLook.ThickBarline + StaffLook.BarlineGap;
        Upright(ink, thick, StaffLook.ThickBarline);
        Upright(ink, thin, StaffLook.ThinBarline);
        Dots(ink, thin + (StaffLook.ThinBarline / 2) + DotGap);
    }

    /// <param name="x">Right edge of the bar.</param>
    public static void End(SystemInk ink, double x, int times)
    {
        double thick = x - (StaffLook.ThickBarline / 2);
        double thin = x - StaffLook.ThickBarline - StaffLook.BarlineGap;
        Upright(ink, thick, StaffLook.ThickBarline);
        Upright(ink, thin, StaffLook.ThinBarline);
        Dots(ink, thin - (StaffLook.ThinBarline / 2) - DotGap - MusicFont.Bounds(Smufl.RepeatDot).Width);
        string text = string.Create(CultureInfo.InvariantCulture, $"\u00d7{times}");
        double width = TextFont.Width(text, TextCut.SemiBold) * TimesEm;
        double y = ink.Skyline.Top(x - width - 0.3, x + 0.3, StaffLook.StaffTop) - 0.8;
        ink.Text(InkRole.Text, text, TextCut.SemiBold, x - width, y, TimesEm);
    }

    private static void Upright(SystemInk ink, double x, double thickness) =>
        ink.Line(InkRole.Staff, x, -Half, x, Half, thickness);

    private static void Dots(SystemInk ink, double left)
    {
        Box dot = MusicFont.Bounds(Smufl.RepeatDot);
        foreach (double y in new[] { -0.5, 0.5 })
            ink.Glyph(InkRole.Mark, Smufl.RepeatDot, left - dot.Left, y - ((dot.Top + dot.Bottom) / 2));
    }
}
