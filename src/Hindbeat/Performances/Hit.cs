using Hindbeat.Units;

namespace Hindbeat.Performances;

/// <summary>How a stroke was played, beyond piece and loudness.</summary>
[Flags]
public enum HitMarks
{
    None = 0,
    Ghost = 1,
    Accent = 2,
    Flam = 4,
    Drag = 8,
    Rimshot = 16,
    Buzz = 32,
    Choke = 64,

    /// <summary>A hat stroke on half-open cymbals; the piece is the open or the closed hat, as it was heard.</summary>
    HalfOpen = 128,

    /// <summary>Played by the right hand, where a person said so; both hands together carry both marks.</summary>
    RightHand = 256,
    LeftHand = 512,
}

/// <summary>
/// One stroke. <see cref="Time"/> is its physical onset: the first moment its energy leaves what was
/// sounding, not its peak.
/// </summary>
/// <param name="Time">Physical onset.</param>
/// <param name="Piece">What was struck.</param>
/// <param name="Velocity">Strength, 1 to 127 as in MIDI; ranks strokes of one piece.</param>
/// <param name="Level">Loudness of the stroke in dBFS.</param>
/// <param name="Confidence">Probability in [0, 1] that this stroke of this piece was played; 1 for MIDI and for hits confirmed by hand.</param>
public sealed record Hit(AudioTime Time, KitPiece Piece, int Velocity, Level Level, double Confidence)
{
    public HitMarks Marks { get; init; }

    /// <summary>How long a hat rings, in the time its highs take to fall by 20 dB; null for other pieces and where it cannot be told.</summary>
    public Seconds? Ring { get; init; }

    /// <summary>Where the stroke is written; null until a pulse has placed it, or when it fits no place.</summary>
    public BarPosition? Position { get; init; }
}
