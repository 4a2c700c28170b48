using Hindbeat.Performances;

namespace Hindbeat.Listening;

/// <summary>What can be told apart at a moment before knowing the piece: four kinds of sound that often come together.</summary>
internal enum StrokeFamily
{
    Kick,
    Snare,
    Metal,
    Tom,
}

/// <summary>Which pieces and bands belong to a family of strokes.</summary>
internal static class StrokeFamilies
{
    public const int Count = 4;

    public static StrokeFamily Of(KitPiece piece) => piece.Family() switch
    {
        PieceFamily.Kick => StrokeFamily.Kick,
        PieceFamily.Snare => StrokeFamily.Snare,
        PieceFamily.Tom => StrokeFamily.Tom,
        _ => StrokeFamily.Metal,
    };

    /// <summary>Bands in which a family speaks most plainly.</summary>
    public static Range KeyBands(StrokeFamily family) => family switch
    {
        StrokeFamily.Kick => 0..3,
        StrokeFamily.Snare => 3..16,
        StrokeFamily.Metal => 15..21,
        _ => 1..7,
    };
}
