using System.Globalization;

namespace Hindbeat.Charting;

/// <summary>Sets measured words beside notes: offsets in milliseconds, and how often a stroke of a typical bar occurs.</summary>
internal static class FigureMarks
{
    private const double Em = 1.35;
    private const double Air = 0.3;

    public static void Draw(SystemInk ink, VoiceEngraver voice, bool offsets)
    {
        for (int i = 0; i < voice.Voice.Events.Count; i++)
        {
            if (voice.Shape(i) is not { } shape)
                continue;
            double centre = voice.X(i) + (MusicFont.Bounds(shape.Heads[0].Codepoint).Width / 2);

            // Nearest to the staff first: on each side the words stand in the order of the heads.
            foreach (HeadShape head in voice.StemsUp ? shape.Heads : shape.Heads.Reverse())
            {
                if (offsets)
                    Set(ink, centre, string.Create(CultureInfo.InvariantCulture, $"{head.Note.Deviation.Milliseconds:+0;\u22120;0}"), voice.StemsUp);
                if (head.Note.Seen is { } seen && seen.Bars < seen.OfBars)
                    Set(ink, centre, string.Create(CultureInfo.InvariantCulture, $"{seen.Bars}/{seen.OfBars}"), voice.StemsUp);
            }
        }
    }

    private static void Set(SystemInk ink, double centre, string text, bool above)
    {
        Box box = TextFont.Bounds(text, TextCut.Regular).Scaled(Em);
        double x = centre - (box.Width / 2);
        double y = above
            ? ink.Skyline.Top(x - 0.15, x + box.Width + 0.15, StaffLook.StaffTop - 0.4) - Air - box.Bottom
            : ink.Skyline.Bottom(x - 0.15, x + box.Width + 0.15, StaffLook.StaffBottom + 0.4) + Air - box.Top;
        ink.Text(InkRole.Measure, text, TextCut.Regular, x - box.Left, y, Em);
    }
}
