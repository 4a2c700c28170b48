using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>Draws one line of bars: staff, clef, signature, bars, bar lines and what stands above them.</summary>
internal static class SystemEngraver
{
    public const double ClefX = 0.7;

    private const double AfterClef = 0.9;
    private const double AfterSignature = 0.3;
    private const double BeforeChange = 0.6;

    /// <summary>Room that clef (and signature) take at the start of a line.</summary>
    public static double HeaderWidth(Meter meter, bool withSignature)
    {
        double clef = ClefX + MusicFont.Bounds(Smufl.PercussionClef).Right;
        return withSignature ? clef + AfterClef + SignatureWidth(meter) + AfterSignature : clef;
    }

    /// <summary>Room that a change of meter takes after a bar line.</summary>
    public static double ChangeWidth(Meter meter) => BeforeChange + SignatureWidth(meter);

    /// <summary>Final bar line: what it takes beyond a plain one.</summary>
    public const double FinalBarlineWidth = StaffLook.BarlineGap + StaffLook.ThickBarline;

    /// <param name="bars">The bars of this line.</param>
    /// <param name="width">Length of the staff in spaces.</param>
    /// <param name="stretch">Factor on all springs.</param>
    public static SystemInk Engrave(
        Chart chart, IReadOnlyList<BarLayout> bars, double width, double stretch, bool first, bool last, HashSet<int> closing, EngravingLook look)
    {
        var ink = new SystemInk { Name = bars.Count == 1 ? $"Bar {bars[0].Bar.Number}" : $"Bars {bars[0].Bar.Number} to {bars[^1].Bar.Number}" };
        double x = HeaderWidth(chart.Bars[0].Meter, first);
        double end = last
            ? x + bars.Sum(bar => bar.Width(stretch)) + FinalBarlineWidth
            : width;
        for (int line = -2; line <= 2; line++)
            ink.Line(InkRole.Staff, 0, line, end, line, StaffLook.StaffLine);
        ink.Glyph(InkRole.Text, Smufl.PercussionClef, ClefX, 0);
        if (first)
            DrawSignature(ink, chart.Bars[0].Meter, ClefX + MusicFont.Bounds(Smufl.PercussionClef).Right + AfterClef);

        var voices = new List<VoiceEngraver>();
        var under = new UnderStaff(ink, chart);
        var repeats = new List<(double X, int Times)>();
        for (int i = 0; i < bars.Count; i++)
        {
            BarLayout bar = bars[i];
            double barWidth = bar.Width(stretch);
            double sign = bar.Bar.RepeatBegins ? RepeatSigns.Width : 0;
            if (bar.Signature > 0)
                DrawSignature(ink, bar.Bar.Meter, x + BeforeChange + sign);
            voices.AddRange(DrawBar(ink, chart, bar, x, barWidth, stretch, look));
            under.AddBar(bar, x, barWidth, bar.Origins(stretch));
            if (bar.Bar.RepeatBegins)
                RepeatSigns.Begin(ink, x + (i == 0 ? AfterClef : 0));
            x += barWidth;
            if (bar.Bar.RepeatTimes > 1)
                repeats.Add((x, bar.Bar.RepeatTimes));
            else if (last && i == bars.Count - 1)
                DrawFinalBarline(ink, x);
            else
                ink.Line(InkRole.Staff, x - (StaffLook.ThinBarline / 2), -2 - (StaffLook.StaffLine / 2), x - (StaffLook.ThinBarline / 2), 2 + (StaffLook.StaffLine / 2), StaffLook.ThinBarline);
        }

        foreach (VoiceEngraver voice in voices)
        {
            MarkEngraver.Draw(ink, voice, closing);
            FigureMarks.Draw(ink, voice, look.PlayedOverWritten && look.Offsets);
        }

        foreach ((double at, int times) in repeats)
            RepeatSigns.End(ink, at, times);
        under.Draw(end, look.TempoAndTouch, last);
        if (first)
            DirectionEngraver.Draw(ink, chart, ClefX);
        if (!first || bars[0].Bar.Number > 1)
            DrawBarNumber(ink, bars[0].Bar.Number);
        return ink;
    }

    private static VoiceEngraver[] DrawBar(SystemInk ink, Chart chart, BarLayout layout, double left, double width, double stretch, EngravingLook look)
    {
        double[] origins = layout.Origins(stretch);
        var at = new Dictionary<Fraction, double>(origins.Length);
        for (int i = 0; i < origins.Length; i++)
            at.Add(layout.Columns[i].At, left + origins[i]);
        if (layout.Columns.Count == 0)
            RestEngraver.DrawWholeBar(ink, left, left + width);
        PlayedPlaces? played = look.PlayedOverWritten ? new PlayedPlaces(chart, layout, origins, width) : null;
        VoiceEngraver[] voices =
        [
            new(ink, layout, hands: true, happening => at[happening.At], played),
            new(ink, layout, hands: false, happening => at[happening.At], played),
        ];
        foreach (VoiceEngraver voice in voices)
            voice.Draw();
        return voices;
    }

    private static void DrawFinalBarline(SystemInk ink, double x)
    {
        double half = 2 + (StaffLook.StaffLine / 2);
        double thin = x - (StaffLook.ThinBarline / 2);
        double thick = x + StaffLook.BarlineGap + (StaffLook.ThickBarline / 2);
        ink.Line(InkRole.Staff, thin, -half, thin, half, StaffLook.ThinBarline);
        ink.Line(InkRole.Staff, thick, -half, thick, half, StaffLook.ThickBarline);
    }

    private static double SignatureWidth(Meter meter) => Math.Max(DigitsWidth(meter.Numerator), DigitsWidth(meter.Denominator));

    private static double DigitsWidth(int number) =>
        Digits(number).Sum(digit => MusicFont.Bounds(digit).Right);

    private static IEnumerable<int> Digits(int number) =>
        number.ToString(CultureInfo.InvariantCulture).Select(digit => Smufl.TimeDigitZero + (digit - '0'));

    private static void DrawSignature(SystemInk ink, Meter meter, double x)
    {
        double width = SignatureWidth(meter);
        foreach ((int number, double y) in new[] { (meter.Numerator, -1.05), (meter.Denominator, 1.05) })
        {
            double at = x + ((width - DigitsWidth(number)) / 2);
            foreach (int digit in Digits(number))
            {
                ink.Glyph(InkRole.Text, digit, at, y);
                at += MusicFont.Bounds(digit).Right;
            }
        }
    }

    private static void DrawBarNumber(SystemInk ink, int number)
    {
        string text = number.ToString(CultureInfo.InvariantCulture);
        double y = ink.Skyline.Top(0, TextFont.Width(text, TextCut.Italic) * 1.7, -2.2) - 0.5;
        ink.Text(InkRole.Text, text, TextCut.Italic, 0, y, 1.7);
    }
}
