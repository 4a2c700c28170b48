using System.Globalization;
using System.Text;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>A stroke as typed: where, what, how loud, how.</summary>
public sealed record TypedStroke(KitPiece Piece, BarPosition Position, int Velocity, HitMarks Marks);

/// <summary>A bar as typed.</summary>
public sealed record TypedBar(int Number, Meter Meter, IReadOnlyList<TypedStroke> Strokes);

/// <summary>
/// A bar in words, as a drummer would count it to another: a head line, then a line a piece with the counts it is
/// struck on. docs/bar-text.md describes it. Reading what was written gives the same strokes.
/// </summary>
/// <example>
/// <code>
/// bar 3 in 4/4
/// kick: 1, 2&amp;, 3
/// snare: 2 accent, 2a ghost @30, 4 accent
/// </code>
/// </example>
public static class BarText
{
    /// <summary>Loudness of a stroke that says none: MIDI's usual middle forte.</summary>
    public const int UnsaidVelocity = 80;

    private static readonly (Fraction Within, string Word)[] Counts =
        [(new Fraction(1, 4), "e"), (new Fraction(1, 2), "&"), (new Fraction(3, 4), "a")];

    public static string Write(TypedBar bar)
    {
        ArgumentNullException.ThrowIfNull(bar);
        var text = new StringBuilder();
        text.Append(CultureInfo.InvariantCulture, $"bar {bar.Number} in {bar.Meter}\n");
        foreach (IGrouping<KitPiece, TypedStroke> piece in bar.Strokes.OrderBy(stroke => stroke.Piece).GroupBy(stroke => stroke.Piece))
        {
            text.Append(piece.Key.Id()).Append(": ");
            text.AppendJoin(", ", piece.OrderBy(stroke => stroke.Position).Select(Word)).Append('\n');
        }

        return text.ToString();
    }

    /// <summary>A bar of a performance as it would be typed.</summary>
    public static TypedBar Of(Performance performance, int bar)
    {
        ArgumentNullException.ThrowIfNull(performance);
        return new TypedBar(bar, performance.Pulse.MeterAt(bar), [.. performance.Hits
            .Where(hit => hit.Position?.Bar == bar)
            .Select(hit => new TypedStroke(hit.Piece, hit.Position!.Value, hit.Velocity, hit.Marks))]);
    }

    /// <param name="text">Lines apart by line ends or semicolons.</param>
    /// <exception cref="InputException">Something in it cannot be read; the message names the line and the word.</exception>
    public static TypedBar Parse(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        string[] lines = text.Split(['\n', ';'], StringSplitOptions.TrimEntries);
        int head = Array.FindIndex(lines, line => line.Length > 0);
        if (head < 0)
            throw new InputException("The text is empty; a bar begins with a line like 'bar 3 in 4/4'.");
        (int number, Meter meter) = ParseHead(lines[head]);
        var strokes = new List<TypedStroke>();
        for (int i = head + 1; i < lines.Length; i++)
        {
            if (lines[i].Length == 0)
                continue;
            int colon = lines[i].IndexOf(':', StringComparison.Ordinal);
            if (colon < 0 || !KitPieces.TryParse(lines[i][..colon].Trim(), out KitPiece piece))
                throw new InputException($"Line {i + 1} of the bar, '{lines[i]}', does not begin with a piece of the kit and a colon, like 'snare: 2, 4'.");
            foreach (string word in lines[i][(colon + 1)..].Split(',', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries))
                strokes.Add(ParseStroke(word, piece, number, meter, i + 1));
        }

        return new TypedBar(number, meter, strokes);
    }

    private static string Word(TypedStroke stroke)
    {
        string marks = string.Concat(HitMarkWords.Of(stroke.Marks).Select(word => " " + word));
        string loud = stroke.Velocity == UnsaidVelocity ? "" : string.Create(CultureInfo.InvariantCulture, $" @{stroke.Velocity}");
        return WritePlace(stroke.Position) + marks + loud;
    }

    /// <summary>A place within its bar: "2", "2&amp;", "2+1/3".</summary>
    internal static string WritePlace(BarPosition place)
    {
        string count = place.Beat.ToString(CultureInfo.InvariantCulture);
        string? named = Array.Find(Counts, pair => pair.Within == place.Within).Word;
        return place.Within == 0 ? count : named is null ? $"{count}+{place.Within}" : count + named;
    }

    private static (int Number, Meter Meter) ParseHead(string line)
    {
        string[] words = line.Split(' ', StringSplitOptions.RemoveEmptyEntries);
        if (words is not ["bar", var number, "in", var meter] || !int.TryParse(number, NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out int bar))
            throw new InputException($"'{line}' does not begin a bar; write it like 'bar 3 in 4/4'.");
        try
        {
            return (bar, Meter.Parse(meter));
        }
        catch (FormatException wrong)
        {
            throw new InputException(wrong.Message, wrong);
        }
    }

    private static TypedStroke ParseStroke(string word, KitPiece piece, int bar, Meter meter, int line)
    {
        string[] parts = word.Split(' ', StringSplitOptions.RemoveEmptyEntries);
        BarPosition place = ParsePlace(parts[0], bar, meter) ?? throw new InputException($"Line {line} of the bar: '{parts[0]}' is not a place in a bar of {meter}; write counts like 2, 2&, 2e, 2a or 2+1/3.");
        int velocity = UnsaidVelocity;
        HitMarks marks = HitMarks.None;
        foreach (string part in parts.Skip(1))
        {
            HitMarks mark = HitMarkWords.Find(part);
            if (mark == HitMarks.None && (part[0] != '@' || !int.TryParse(part[1..], NumberStyles.None, CultureInfo.InvariantCulture, out velocity) || velocity is < 1 or > 127))
                throw new InputException($"Line {line} of the bar: '{part}' is neither a mark ({string.Join(", ", HitMarkWords.All.Select(pair => pair.Word))}) nor a loudness from @1 to @127.");
            marks |= mark;
        }

        return new TypedStroke(piece, place, velocity, marks);
    }

    /// <returns>Null when the word names no place of the meter.</returns>
    internal static BarPosition? ParsePlace(string word, int bar, Meter meter)
    {
        int digits = word.TakeWhile(char.IsAsciiDigit).Count();
        if (!int.TryParse(word[..digits], NumberStyles.None, CultureInfo.InvariantCulture, out int beat) || beat < 1 || beat > meter.BeatsPerBar)
            return null;
        string rest = word[digits..];
        if (rest.Length == 0)
            return new BarPosition(bar, beat, Fraction.Zero);
        Fraction within = Array.Find(Counts, pair => pair.Word == rest).Within;
        if (within == 0 && rest[0] == '+')
        {
            string[] numbers = rest[1..].Split('/');
            if (numbers.Length != 2 || !long.TryParse(numbers[0], NumberStyles.None, CultureInfo.InvariantCulture, out long top)
                || !long.TryParse(numbers[1], NumberStyles.None, CultureInfo.InvariantCulture, out long bottom) || top < 1 || top >= bottom)
                return null;
            within = new Fraction(top, bottom);
        }

        return within == 0 ? null : new BarPosition(bar, beat, within);
    }
}
