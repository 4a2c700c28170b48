using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>One stroke of a rebuild.</summary>
/// <param name="Time">When its physical onset sounds, on the recording's own time axis; may be negative.</param>
/// <param name="Velocity">Strength in [1, 127], not rounded.</param>
public readonly record struct PlannedStroke(AudioTime Time, KitPiece Piece, double Velocity);
