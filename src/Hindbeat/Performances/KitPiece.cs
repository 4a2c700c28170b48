namespace Hindbeat.Performances;

/// <summary>What was struck. The ids used in files are those of <see cref="KitPieces"/>.</summary>
public enum KitPiece
{
    Kick,
    Snare,
    CrossStick,
    HatClosed,
    HatOpen,
    HatPedal,
    Ride,
    RideBell,
    Crash,
    Splash,
    China,
    TomHigh,
    TomMid,
    TomLow,
    Other,
}

/// <summary>Pieces that share a stick, a surface or a role; figures are often given for a family.</summary>
public enum PieceFamily
{
    Kick,
    Snare,
    Hat,
    Cymbal,
    Tom,
    Other,
}

/// <summary>Which limb usually plays a piece (common practice, no source): stems of hands go up, of feet down.</summary>
public enum Limb
{
    Hand,
    Foot,
}
