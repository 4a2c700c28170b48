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
