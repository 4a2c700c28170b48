using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>What was put into an invented passage: the numbers that a study of its sound should find again.</summary>
/// <param name="Tempo">Mean tempo of the pulse.</param>
/// <param name="DriftBpmPerMinute">Slope of a straight line through the tempo.</param>
/// <param name="SwingRatio">Long : short at <paramref name="SwingLevel"/>, of every piece.</param>
/// <param name="Reference">The piece that lay-back is against.</param>
/// <param name="LayBack">Mean deviation from the reference, positive = late; exact, see <see cref="InventedPassage"/>.</param>
/// <param name="Looseness">Standard deviation of the chance that was added to each stroke.</param>
public sealed record DemoTruth(
    Bpm Tempo,
    double DriftBpmPerMinute,
    SwingLevel SwingLevel,
    double SwingRatio,
    KitPiece Reference,
    IReadOnlyDictionary<KitPiece, Seconds> LayBack,
    IReadOnlyDictionary<KitPiece, Seconds> Looseness);
