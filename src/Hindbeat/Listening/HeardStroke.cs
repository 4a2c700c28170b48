using Hindbeat.Performances;

namespace Hindbeat.Listening;

/// <summary>A stroke before its exact time is known: what any listener, by rules or learned, hands on to be refined.</summary>
/// <param name="Moment">The moment it belongs to, by index.</param>
/// <param name="Coarse">Sample of the recording, right to a few milliseconds.</param>
/// <param name="Probability">That the family was struck.</param>
internal readonly record struct HeardStroke(int Moment, long Coarse, StrokeFamily Family, KitPiece Piece, float Probability);
