using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Pulses;

/// <summary>Another tempo explains the passage nearly as well.</summary>
public sealed record TempoUnsure(double Bpm, double OtherBpm) : Doubt
{
    public override string Text => FormattableString.Invariant($"The beat may as well be counted at {OtherBpm:0.#} bpm as at {Bpm:0.#}; state the tempo if you know it.");
}

/// <summary>Another place of the bar line explains the passage nearly as well.</summary>
public sealed record BarPhaseUnsure(double BeatsLater) : Doubt
{
    public override string Text => FormattableString.Invariant($"The bar line may lie {PulseDoubtWords.Beats(BeatsLater)} later; set where bar 1 starts if you hear it there.");
}

/// <summary>Another meter explains the passage nearly as well.</summary>
public sealed record MeterUnsure(Meter Meter, Meter Other) : Doubt
{
    public override string Text => FormattableString.Invariant($"The passage may be in {Other} as well as in {Meter}; state the meter if you know it.");
}

/// <summary>Too few bars for patterns to show.</summary>
public sealed record FewBars(double Bars) : Doubt
{
    public override string Text => FormattableString.Invariant($"The passage holds {NumberWords.Bars(Bars)}; with fewer than four, tempo and bar line rest on few strokes.");
}

/// <summary>Many strokes lie far from the place at which they are written.</summary>
public sealed record HitsOffTheGrid(int Hits, double Share) : Doubt
{
    public override string Text => FormattableString.Invariant($"{Hits} strokes ({100 * Share:0} %) lie far from the place at which they are written; the pulse may be wrong, or they are rolls.");
}

internal static class PulseDoubtWords
{
    /// <summary>"1 beat", "2.5 beats".</summary>
    public static string Beats(double count) => FormattableString.Invariant($"{count:0.##}") is var number && number == "1" ? "1 beat" : $"{number} beats";
}
