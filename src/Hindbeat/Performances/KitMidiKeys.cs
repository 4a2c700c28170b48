namespace Hindbeat.Performances;

/// <summary>
/// From MIDI key to kit piece. Two layouts are told apart: the General MIDI Level 1 percussion map, and the
/// layout of electronic kits that send edge and rim strokes on keys of their own (Groove MIDI Dataset,
/// Gillick, Roberts, Engel, Eck, Bamman, ICML 2019, mapping table).
/// </summary>
/// <remarks>
/// The layouts disagree on four keys: 40 (electric snare, or the snare's rim), 52 (china, or crash 2's edge),
/// 55 (splash, or crash 1's edge) and 58 (vibraslap, or the low tom's rim). A file that uses 22 or 26, which
/// General MIDI leaves empty, is from an electronic kit, and so is one with 58, for a vibraslap is rare.
/// </remarks>
public static class KitMidiKeys
{
    /// <summary>True when a key used by a file shows that it was played on an electronic kit.</summary>
    public static bool ShowsElectronicKit(int key) => key is 22 or 26 or 58;

    /// <summary>The piece that a key stands for; null when it belongs to no percussion map.</summary>
    public static (KitPiece Piece, HitMarks Marks)? Find(int key, bool electronicKit)
    {
        if (electronicKit)
        {
            switch (key)
            {
                case 22: return (KitPiece.HatClosed, HitMarks.None);
                case 26: return (KitPiece.HatOpen, HitMarks.None);
                case 40: return (KitPiece.Snare, HitMarks.Rimshot);
                case 52 or 55: return (KitPiece.Crash, HitMarks.None);
                case 58: return (KitPiece.TomLow, HitMarks.None);
            }
        }

        KitPiece? piece = key switch
        {
            35 or 36 => KitPiece.Kick,
            37 => KitPiece.CrossStick,
            38 or 40 => KitPiece.Snare,
            41 or 43 => KitPiece.TomLow,
            42 => KitPiece.HatClosed,
            44 => KitPiece.HatPedal,
            46 => KitPiece.HatOpen,
            45 or 47 => KitPiece.TomMid,
            48 or 50 => KitPiece.TomHigh,
            49 or 57 => KitPiece.Crash,
            51 or 59 => KitPiece.Ride,
            52 => KitPiece.China,
            53 => KitPiece.RideBell,
            55 => KitPiece.Splash,
            // Hand clap, tambourine, cowbell, bongos ... open triangle: struck, but no part of a kit.
            >= 39 and <= 81 => KitPiece.Other,
            _ => null,
        };
        return piece is { } found ? (found, HitMarks.None) : null;
    }
}
