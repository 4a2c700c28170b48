namespace Hindbeat.Charting;

/// <summary>Thicknesses in staff spaces, from the engraving defaults in Bravura's metadata unless noted.</summary>
internal static class StaffLook
{
    public const double StaffLine = 0.13;
    public const double StemThickness = 0.12;
    public const double BeamThickness = 0.5;
    public const double BeamGap = 0.25;
    public const double LedgerLine = 0.16;
    public const double LedgerReach = 0.4;
    public const double ThinBarline = 0.16;
    public const double ThickBarline = 0.5;
    public const double BarlineGap = 0.4;
    public const double TupletBracket = 0.16;

    /// <summary>Top and bottom line of the staff.</summary>
    public const double StaffTop = -2.0;
    public const double StaffBottom = 2.0;
}
