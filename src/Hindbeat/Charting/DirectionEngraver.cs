using System.Globalization;

namespace Hindbeat.Charting;

/// <summary>Sets the tempo mark and the swing direction above the first bar.</summary>
internal static class DirectionEngraver
{
    private const double Em = 2.5;
    private const double Air = 1.3;

    public static void Draw(SystemInk ink, Chart chart, double x)
    {
        string tempo = string.Create(CultureInfo.InvariantCulture, $"= {chart.Tempo.Value:0.#}");
        string swing = chart.Swing is { } direction ? direction.ToString() : "";
        int split = swing.IndexOf('(', StringComparison.Ordinal);
        string words = split < 0 ? swing : swing[..split].TrimEnd();
        string ratio = split < 0 ? "" : swing[split..];

        NoteValue beat = NoteValue.Exactly(chart.Bars[0].Meter.BeatLength)
            ?? throw new InvalidOperationException($"The beat of {chart.Bars[0].Meter} has no note value.");
        int glyph = Smufl.MetronomeNote(beat);
        const double noteScale = 0.72;
        double noteWidth = MusicFont.Bounds(glyph).Scaled(noteScale).Right;
        double total = noteWidth + 3 + ((TextFont.Width(tempo, TextCut.SemiBold) + TextFont.Width(swing, TextCut.Italic)) * Em) + 4;
        double y = ink.Skyline.Top(x, x + total, -2.2) - Air;

        ink.Glyph(InkRole.Text, glyph, x, y - 0.15, scale: noteScale);
        double at = x + noteWidth;
        for (int dot = 0; dot < beat.Dots; dot++)
        {
            ink.Glyph(InkRole.Text, Smufl.MetronomeDot, at + 0.2, y - 0.15, scale: noteScale);
            at += 0.2 + MusicFont.Bounds(Smufl.MetronomeDot).Scaled(noteScale).Right;
        }

        at += 0.8;
        ink.Text(InkRole.Text, tempo, TextCut.SemiBold, at, y, Em);
        if (swing.Length == 0)
            return;
        at += (TextFont.Width(tempo, TextCut.SemiBold) * Em) + 2.2;
        ink.Text(InkRole.Text, words, TextCut.Italic, at, y, Em);
        at += (TextFont.Width(words, TextCut.Italic) * Em) + 0.7;
        ink.Text(InkRole.Measure, ratio, TextCut.Italic, at, y, Em);
    }
}
