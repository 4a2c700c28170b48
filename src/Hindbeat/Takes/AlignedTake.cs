using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Takes;

/// <summary>A stroke of the passage and the take's stroke that plays it.</summary>
/// <param name="Round">How often the passage had been played before, from 0.</param>
/// <param name="Later">The take's deviation − the passage's, each against its own pulse; positive = later than in the passage.</param>
public readonly record struct PairedStroke(Hit Reference, Hit Take, int Round, Seconds Later)
{
    /// <summary>The same place on another piece: a ride for a hat, a closed hat for an open one.</summary>
    public bool OnOtherPiece => Reference.Piece != Take.Piece;
}

/// <summary>A stroke of the passage that the take leaves out.</summary>
/// <param name="Place">Where it would stand in the take, bars numbered on.</param>
public readonly record struct MissedStroke(Hit Reference, int Round, BarPosition Place);

/// <summary>A stroke that was played at another place than it is written.</summary>
/// <param name="Beats">How far from its place, in beats; positive = too late.</param>
public readonly record struct MovedStroke(Hit Reference, Hit Take, int Round, double Beats);

/// <summary>A take laid on the passage that it copies.</summary>
/// <param name="Performance">The take's strokes on its own pulse; bars are numbered on from the passage's first through all rounds.</param>
/// <param name="Rounds">How often the passage is played, in part or whole.</param>
/// <param name="TempoRatio">Mean tempo of the take ÷ mean tempo of the passage.</param>
public sealed record AlignedTake(
    Performance Performance,
    IReadOnlyList<PairedStroke> Pairs,
    IReadOnlyList<MissedStroke> Missed,
    IReadOnlyList<Hit> Extra,
    IReadOnlyList<MovedStroke> Moved,
    int Rounds,
    double TempoRatio,
    IReadOnlyList<Doubt> Doubts)
{
    /// <summary>Share of the passage's strokes that were played at their places, 0 to 1.</summary>
    public double Found => Pairs.Count == 0 ? 0 : (double)Pairs.Count / (Pairs.Count + Missed.Count + Moved.Count);
}

/// <summary>Much of the take is not in the passage, or the other way round.</summary>
/// <param name="Share">Share of the strokes of both that have a counterpart, 0 to 1.</param>
public sealed record TakeDiffersMuch(double Share) : Doubt
{
    public override string Text =>
        FormattableString.Invariant($"Only {100 * Share:0} % of the strokes of take and passage go together; the take may be another groove, or its pulse was misread.");
}

/// <summary>The take is too short to say much.</summary>
public sealed record TakeIsShort(double Bars) : Doubt
{
    public override string Text =>
        FormattableString.Invariant($"The take holds {NumberWords.Bars(Bars)}; play the passage at least four times round for figures that can be told apart from chance.");
}
