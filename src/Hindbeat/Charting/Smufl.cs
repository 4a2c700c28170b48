namespace Hindbeat.Charting;

/// <summary>Codepoints of the glyphs in use, after the SMuFL 1.4 tables (W3C Music Notation Community Group).</summary>
internal static class Smufl
{
    public const int PercussionClef = 0xE069;
    public const int TimeDigitZero = 0xE080;
    public const int AugmentationDot = 0xE1E7;

    /// <summary>stringsHarmonic: an open circle.</summary>
    public const int OpenDot = 0xE614;
    public const int ParenthesisLeft = 0xE0F5;
    public const int ParenthesisRight = 0xE0F6;
    public const int AccentAbove = 0xE4A0;
    public const int AccentBelow = 0xE4A1;
    public const int Open = 0xE7F8;
    public const int HalfOpen = 0xE7F6;
    public const int Closed = 0xE5E5;
    public const int Choke = 0xE805;
    public const int RepeatDot = 0xE044;
    public const int BuzzTremolo = 0xE22A;
    public const int TupletDigitZero = 0xE880;
    public const int TupletColon = 0xE88A;
    public const int MetronomeDot = 0xECB7;

    private const int WholeRest = 0xE4E3;
    private const int Flag8thUp = 0xE240;

    public static int Rest(NoteValue value) => WholeRest + value.Halvings;

    /// <summary>Flags for one or more; up hangs from a stem that rises.</summary>
    public static int Flag(int flags, bool up) => Flag8thUp + ((flags - 1) * 2) + (up ? 0 : 1);

    /// <summary>The note of a metronome mark, stem up.</summary>
    public static int MetronomeNote(NoteValue value) => value.Halvings switch
    {
        0 => 0xECA2,
        1 => 0xECA3,
        2 => 0xECA5,
        3 => 0xECA7,
        _ => 0xECA9,
    };

    /// <summary>Notehead and its SMuFL name, by shape and value.</summary>
    public static (int Codepoint, string Name) Notehead(Head head, NoteValue value) => (head, Math.Min(value.Halvings, 2)) switch
    {
        (Head.Normal, 0) => (0xE0A2, "noteheadWhole"),
        (Head.Normal, 1) => (0xE0A3, "noteheadHalf"),
        (Head.Normal, _) => (0xE0A4, "noteheadBlack"),
        (Head.Cross, 0) => (0xE0A7, "noteheadXWhole"),
        (Head.Cross, 1) => (0xE0A8, "noteheadXHalf"),
        (Head.Cross, _) => (0xE0F8, "noteheadHeavyX"),
        (Head.Diamond, 0) => (0xE0D8, "noteheadDiamondWhole"),
        (Head.Diamond, 1) => (0xE0D9, "noteheadDiamondHalf"),
        // The plain black diamond is too small to tell from a dot at two metres (looked at on rendered pages).
        (Head.Diamond, _) => (0xE0DC, "noteheadDiamondBlackWide"),
        (Head.CircledCross, _) => (0xE0B3, "noteheadCircleX"),
        (Head.Slashed, 0) => (0xE0D1, "noteheadSlashedWhole1"),
        (Head.Slashed, 1) => (0xE0D0, "noteheadSlashedHalf1"),
        (Head.Slashed, _) => (0xE0CF, "noteheadSlashedBlack1"),
        (Head.Triangle, 0) => (0xE0BB, "noteheadTriangleUpWhole"),
        (Head.Triangle, 1) => (0xE0BC, "noteheadTriangleUpHalf"),
        (Head.Triangle, _) => (0xE0BE, "noteheadTriangleUpBlack"),
        _ => throw new ArgumentOutOfRangeException(nameof(head), head, "Not a notehead."),
    };
}
