namespace Hindbeat.Feel;

/// <summary>What a written place can do when a passage swings.</summary>
internal enum PlaceRole
{
    /// <summary>The first of a pair at every level: it never swings.</summary>
    Start,

    /// <summary>The second of a pair of 8ths.</summary>
    OffEighth,

    /// <summary>The second of a pair of 16ths.</summary>
    OffSixteenth,

    /// <summary>Neither: triplets, quintuplets, 32nds. Kept out of swing and lay-back.</summary>
    Other,
}
