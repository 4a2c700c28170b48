using System.Globalization;
using Hindbeat.Performances;

namespace Hindbeat.Feel;

/// <summary>Fewer bars than intervals need.</summary>
public sealed record TooFewBars(int Bars) : Doubt
{
    public override string Text => string.Create(CultureInfo.InvariantCulture,
        $"Only {Bars} {(Bars == 1 ? "bar was" : "bars were")} measured, so single beats had to stand in for bars and every interval is rough; eight bars or more say much more.");
}

/// <summary>A figure rests on a single bar, so nothing can be said of its spread.</summary>
public sealed record TooFewBarsForInterval(string What) : Doubt
{
    public override string Text => $"All strokes behind this {What} lie in too few bars to tell how sure it is.";
}

/// <summary>A piece is struck too seldom to be measured.</summary>
public sealed record TooFewStrokes(KitPiece Piece, int Strokes) : Doubt
{
    public override string Text => string.Create(CultureInfo.InvariantCulture,
        $"The {Piece.Name()} is struck only {(Strokes == 1 ? "once" : Strokes == 2 ? "twice" : $"{Strokes} times")} here, too seldom to say whether it lies ahead or behind.");
}

/// <summary>A piece plays only at places that swing (or may swing): one sum is known.</summary>
/// <param name="SumMs">Swing and lay-back together, milliseconds, positive = late.</param>
/// <param name="IfSwungAlikeMs">What would be lay-back if the piece swings as the others do; null when nothing else tells the swing.</param>
public sealed record SwingAndLayBackMixed(KitPiece Piece, double SumMs, double? IfSwungAlikeMs) : Doubt
{
    public override string Text => string.Create(CultureInfo.InvariantCulture,
        $"The {Piece.Name()} plays only at places that may swing, so its {SumMs:+0.0;−0.0;0.0} ms are swing and lay-back in one{IfAlike}; a passage where it also plays on the beat would settle it.");

    private string IfAlike => IfSwungAlikeMs is { } rest
        ? string.Create(CultureInfo.InvariantCulture, $" (if it swings as the other hands do, {rest:+0.0;−0.0;0.0} ms of it are lay-back)")
        : "";
}

/// <summary>The piece is what the others are measured against.</summary>
public sealed record IsTheReference(KitPiece Piece) : Doubt
{
    public override string Text => $"The {Piece.Name()} is what the others are measured against; only an outside click could say whether it lies late itself.";
}

/// <summary>The hand on hats or ride is missing or too loose to measure against.</summary>
public sealed record ReferenceUnsteady(string Why) : Doubt
{
    public override string Text => $"{Why}, so everything is measured against the whole kit instead.";
}

/// <summary>The reference moves by more than it should.</summary>
public sealed record ReferenceLoose(string Name, double LoosenessMs) : Doubt
{
    public override string Text => string.Create(CultureInfo.InvariantCulture,
        $"The {Name}, which everything is measured against, spreads by {LoosenessMs:0} ms itself; take small lay-backs with care.");
}

/// <summary>A piece's timing falls into two heaps.</summary>
/// <param name="GapMs">Distance of the two heaps, milliseconds.</param>
public sealed record SpreadHasTwoModes(KitPiece Piece, double GapMs) : Doubt
{
    public override string Text => string.Create(CultureInfo.InvariantCulture,
        $"The {Piece.Name()}'s timing falls into two groups about {GapMs:0} ms apart, so one mean and one spread hide two ways of playing; look at its places one by one.");
}

/// <summary>The 8ths swing, which bends the 16ths inside them.</summary>
public sealed record EighthsSwingToo : Doubt
{
    public override string Text => "The 8ths swing as well, so the 16ths after each beat and after each \"&\" sit in pairs of unequal length and one ratio cannot describe both.";
}

/// <summary>The second of the pair comes early.</summary>
public sealed record OffBeatsEarly(string Who, double EarlyMs) : Doubt
{
    public override string Text => string.Create(CultureInfo.InvariantCulture,
        $"The off-beats of the {Who} come {EarlyMs:0.0} ms early: the pairs are short–long, which is not what swing means.");
}

/// <summary>Neither straight nor swung can be said.</summary>
public sealed record SwingUndecided(double SmallestRatio) : Doubt
{
    /// <summary>Beyond 3 : 1, a dotted 8th and a 16th, a ratio is written out rather than called swing.</summary>
    private const double MostSensible = 3;

    public override string Text => SmallestRatio < MostSensible
        ? FormattableString.Invariant($"Straight or slightly swung cannot be told here: a passage this long and this loose would show a swing of {SmallestRatio:0.00} : 1 or more.")
        : "Straight or swung cannot be told here: the passage is too short and too loose to show any swing.";
}

/// <summary>Measured as swung, but smaller than listeners could tell.</summary>
public sealed record SwingBelowHearing(double DelayMs) : Doubt
{
    public override string Text => string.Create(CultureInfo.InvariantCulture,
        $"The swing is measured for sure, but {DelayMs:0} ms is below what listeners in one study could tell inside a groove (about {Audibility.SwingInGrooveMs:0} ms; musicians tell less).");
}

/// <summary>The strokes and the sound's onset strength tell different ratios.</summary>
/// <param name="FromStrokes">Ratio from the strokes' times.</param>
/// <param name="FromSound">Ratio from the onset strength alone.</param>
public sealed record SwingEstimatesDisagree(double FromStrokes, double FromSound) : Doubt
{
    public override string Text => FormattableString.Invariant(
        $"The strokes give a swing of {FromStrokes:0.00} : 1, the sound alone, without picking strokes out, {FromSound:0.00} : 1; some strokes may be missed, misheard or written at the wrong place.");
}

/// <summary>Soft and loud strokes share one place.</summary>
/// <param name="SoftDb">Mean level of the soft ones, dBFS.</param>
/// <param name="LoudDb">Mean level of the loud ones, dBFS.</param>
public sealed record TwoLoudnessesAtOnePlace(KitPiece Piece, double SoftDb, int Soft, double LoudDb, int Loud) : Doubt
{
    public override string Text => FormattableString.Invariant(
        $"The {Piece.Name()} plays full and soft strokes here, {Loud} at {LoudDb:0} dBFS and {Soft} at {SoftDb:0} dBFS; their mean describes neither.");
}

/// <summary>Strokes that fit no written place are left out.</summary>
public sealed record StrokesWithoutPlace(int Strokes, int All) : Doubt
{
    public override string Text => string.Create(CultureInfo.InvariantCulture,
        $"{Strokes} of {All} strokes fit no written place and were left out of the timing.");
}

/// <summary>Strokes far from where their piece usually lies.</summary>
public sealed record StrayStrokes(KitPiece Piece, int Strokes) : Doubt
{
    public override string Text => Strokes == 1
        ? $"One stroke of the {Piece.Name()} lies far from the rest and was not counted; it may be misheard or written at the wrong place."
        : FormattableString.Invariant($"{Strokes} strokes of the {Piece.Name()} lie far from the rest and were not counted; they may be misheard or written at the wrong place.");
}

/// <summary>The pulse itself is in doubt, and with it every figure.</summary>
public sealed record PulseUnsure(double Confidence) : Doubt
{
    public override string Text => string.Create(CultureInfo.InvariantCulture,
        $"The pulse is only {100 * Confidence:0} % sure; if tempo or bar line are wrong, so are all figures of feel.");
}
