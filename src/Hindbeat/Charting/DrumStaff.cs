using Hindbeat.Performances;

namespace Hindbeat.Charting;

/// <summary>The shape of a notehead.</summary>
public enum Head
{
    Normal,
    Cross,
    Diamond,
    CircledCross,
    Triangle,
    Slashed,
}

/// <summary>Where a piece is written.</summary>
/// <param name="Step">Letter A to G as if the percussion clef were a treble clef.</param>
/// <param name="Octave">Scientific octave; the staff runs from E4 to F5.</param>
public readonly record struct StaffPlace(char Step, int Octave, Head Head)
{
    private const string Letters = "CDEFGAB";

    /// <summary>Lines and spaces above the middle line (B4 = 0, C5 = 1, F4 = −3).</summary>
    public int StepsAboveMiddle => (Octave * 7) + Letters.IndexOf(Step, StringComparison.Ordinal) - ((4 * 7) + 6);
}

/// <summary>
/// Lines, spaces and noteheads of the kit, after N. Weinberg, "Guidelines for Drumset Notation",
/// Percussive Notes, June 1994. Where we differ: splash, china and "other" are not taken from there; they
/// stand on free places, and the key on the page names them.
/// </summary>
public static class DrumStaff
{
    /// <summary>The head of a stroke: its piece's, but slashed for a rimshot (common practice, no source).</summary>
    public static Head HeadOf(KitPiece piece, HitMarks marks)
    {
        Head head = Place(piece).Head;
        return head == Head.Normal && marks.HasFlag(HitMarks.Rimshot) ? Head.Slashed : head;
    }

    public static StaffPlace Place(KitPiece piece) => piece switch
    {
        KitPiece.HatPedal => new('D', 4, Head.Cross),
        KitPiece.Kick => new('F', 4, Head.Normal),
        KitPiece.TomLow => new('A', 4, Head.Normal),
        KitPiece.Other => new('B', 4, Head.Triangle),
        KitPiece.Snare => new('C', 5, Head.Normal),
        KitPiece.CrossStick => new('C', 5, Head.Cross),
        KitPiece.TomMid => new('D', 5, Head.Normal),
        KitPiece.TomHigh => new('E', 5, Head.Normal),
        KitPiece.Ride => new('F', 5, Head.Cross),
        KitPiece.RideBell => new('F', 5, Head.Diamond),
        KitPiece.HatClosed or KitPiece.HatOpen => new('G', 5, Head.Cross),
        KitPiece.Crash => new('A', 5, Head.Cross),
        KitPiece.China => new('A', 5, Head.CircledCross),
        KitPiece.Splash => new('B', 5, Head.Cross),
        _ => throw new ArgumentOutOfRangeException(nameof(piece), piece, "Not a piece of the kit."),
    };
}
