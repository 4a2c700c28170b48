using System.Globalization;
using Hindbeat.Performances;

namespace Hindbeat.Charting;

/// <summary>
/// Sets what stands outside the notes: open and closed signs, accents, tuplet numbers. Each is placed on
/// the skyline, nearest first, so that none meets another.
/// </summary>
internal static class MarkEngraver
{
    private const double Air = 0.35;
    public const double HatSignScale = 0.9;

    public static void Draw(SystemInk ink, VoiceEngraver voice, HashSet<int> closing)
    {
        for (int i = 0; i < voice.Voice.Events.Count; i++)
        {
            if (voice.Shape(i) is not { } shape)
                continue;
            double centre = voice.X(i) + (MusicFont.Bounds(shape.Heads[0].Codepoint).Width / 2);
            double stem = voice.X(i) + shape.StemX;
            foreach (HeadShape head in shape.Heads)
            {
                if (HatMarks.IsHalfOpen(head.Note))
                    Stack(ink, Smufl.HalfOpen, centre, stem, head.Note.Hit, up: true, HatSignScale);
                else if (head.Note.Piece == KitPiece.HatOpen)
                    Stack(ink, Smufl.Open, centre, stem, head.Note.Hit, up: true, HatSignScale);
                else if (closing.Contains(head.Note.Hit))
                    Stack(ink, Smufl.Closed, centre, stem, head.Note.Hit, up: true, HatSignScale);
                if (head.Note.Marks.HasFlag(HitMarks.Choke))
                    Stack(ink, Smufl.Choke, centre, stem, head.Note.Hit, up: true, 1.0);
            }

            HeadShape? accented = shape.Heads.Where(head => head.Note.Marks.HasFlag(HitMarks.Accent)).Cast<HeadShape?>().FirstOrDefault();
            if (accented is { } accent)
                Stack(ink, voice.StemsUp ? Smufl.AccentAbove : Smufl.AccentBelow, centre, stem, accent.Note.Hit, voice.StemsUp, 1.0);
        }

        foreach (Tuplet tuplet in voice.Voice.Tuplets)
            DrawTuplet(ink, voice, tuplet);
    }

    /// <summary>The z of a buzz stroke, on its stem half way between the notehead and the beams.</summary>
    public static void Buzz(SystemInk ink, double stemX, double headY, double tipY, int? hit)
    {
        Box box = MusicFont.Bounds(Smufl.BuzzTremolo);
        double y = (headY + tipY) / 2;
        ink.Glyph(InkRole.Mark, Smufl.BuzzTremolo, stemX - ((box.Left + box.Right) / 2), y - ((box.Top + box.Bottom) / 2), hit);
    }

    private static void Stack(SystemInk ink, int glyph, double centre, double stem, int hit, bool up, double scale)
    {
        Box box = MusicFont.Bounds(glyph).Scaled(scale);
        double x = centre - (box.Left + (box.Width / 2));

        // The stem counts too, so that the sign always stands outside the beam and not beside it.
        double left = Math.Min(x + box.Left, stem) - 0.1;
        double right = Math.Max(x + box.Right, stem) + 0.1;
        double y = up
            ? ink.Skyline.Top(left, right, StaffLook.StaffTop - 0.2) - Air - box.Bottom
            : ink.Skyline.Bottom(left, right, StaffLook.StaffBottom + 0.2) + Air - box.Top;
        ink.Glyph(InkRole.Mark, glyph, x, y, hit, scale);
    }

    /// <summary>A number over the beam when one beam holds the whole tuplet, else with a bracket.</summary>
    private static void DrawTuplet(SystemInk ink, VoiceEngraver voice, Tuplet tuplet)
    {
        bool up = voice.StemsUp;
        bool oneBeam = voice.Voice.Beams.Any(run => run.First == tuplet.First && run.Last == tuplet.Last);
        double left = voice.X(tuplet.First) - 0.1;
        double right = voice.X(tuplet.Last) + (voice.Shape(tuplet.Last)?.HeadsRight ?? 1.1) + 0.1;
        int[] digits = [.. NumberOf(tuplet)];
        double width = digits.Sum(digit => MusicFont.Bounds(digit).Right) + ((digits.Length - 1) * 0.05);
        Box tall = MusicFont.Bounds(digits[0]);
        double middle = oneBeam
            ? (voice.X(tuplet.First) + voice.Shape(tuplet.First)!.StemX + voice.X(tuplet.Last) + voice.Shape(tuplet.Last)!.StemX) / 2
            : (left + right) / 2;
        double start = middle - (width / 2);
        double from = oneBeam ? start - 0.2 : left;
        double to = oneBeam ? start + width + 0.2 : right;
        double baseline = up
            ? ink.Skyline.Top(from, to, StaffLook.StaffTop - 0.4) - 0.3 - (oneBeam ? tall.Bottom : Math.Max(tall.Bottom, 0.5))
            : ink.Skyline.Bottom(from, to, StaffLook.StaffBottom + 0.4) + 0.3 - tall.Top;
        double x = start;
        foreach (int digit in digits)
        {
            ink.Glyph(InkRole.Tuplet, digit, x, baseline);
            x += MusicFont.Bounds(digit).Right + 0.05;
        }

        if (oneBeam)
            return;
        double bar = baseline + ((tall.Top + tall.Bottom) / 2);
        double hook = up ? 0.7 : -0.7;
        const double thickness = StaffLook.TupletBracket;
        ink.Line(InkRole.Tuplet, left, bar, start - 0.3, bar, thickness);
        ink.Line(InkRole.Tuplet, start + width + 0.3, bar, right, bar, thickness);
        ink.Line(InkRole.Tuplet, left + (thickness / 2), bar, left + (thickness / 2), bar + hook, thickness);
        ink.Line(InkRole.Tuplet, right - (thickness / 2), bar, right - (thickness / 2), bar + hook, thickness);
    }

    /// <summary>"3", "5", "6", "7" by themselves; anything against an unusual number as "9:6".</summary>
    private static IEnumerable<int> NumberOf(Tuplet tuplet)
    {
        bool usual = tuplet.Normal is 2 or 4 && tuplet.Actual is 3 or 5 or 6 or 7;
        string text = usual
            ? tuplet.Actual.ToString(CultureInfo.InvariantCulture)
            : string.Create(CultureInfo.InvariantCulture, $"{tuplet.Actual}:{tuplet.Normal}");
        return text.Select(letter => letter == ':' ? Smufl.TupletColon : Smufl.TupletDigitZero + (letter - '0'));
    }
}
