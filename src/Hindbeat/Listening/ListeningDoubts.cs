using Hindbeat.Performances;

namespace Hindbeat.Listening;

/// <summary>Too few strokes for the recording to have taught the listener its own sounds.</summary>
public sealed record FewStrokesHeard(int Strokes) : Doubt
{
    public override string Text => FormattableString.Invariant($"Only {Strokes} strokes were heard; the listener could hardly learn this kit's own sounds.");
}

/// <summary>Something sounds on between the strokes.</summary>
/// <param name="Share">Median power before a stroke as share of the power at it, 0 to 1.</param>
public sealed record SoundUnderDrums(double Share) : Doubt
{
    public override string Text => FormattableString.Invariant($"Something keeps sounding between the strokes ({100 * Share:0} % of their power), music or a long room; soft strokes may be missed and times are less exact.");
}

/// <summary>Samples at full scale in a row.</summary>
/// <param name="Clipped">How many moments of the passage are cut off.</param>
public sealed record ClippedSound(int Clipped) : Doubt
{
    public override string Text => FormattableString.Invariant($"The sound is cut off at full scale in {Clipped} places; levels of the loudest strokes are too low.");
}

/// <summary>The recording lacks the range in which hats and cymbals are told apart.</summary>
public sealed record NoHighRange : Doubt
{
    public override string Text => "The recording holds almost nothing above 6 kHz (a low sample rate or strong compression); hats and cymbals can hardly be told apart or timed.";
}

/// <summary>Many strokes that the listener is unsure of.</summary>
/// <param name="Share">Share of hits with a confidence below 0.7.</param>
public sealed record UnsureHits(double Share) : Doubt
{
    public override string Text => FormattableString.Invariant($"The listener is unsure of {100 * Share:0} % of the strokes; look at the hits before trusting the figures.");
}

/// <summary>The simpler listener was used because the trained one cannot run here.</summary>
/// <param name="Why">A clause without full stop.</param>
public sealed record HeardWithoutModel(string Why) : Doubt
{
    public override string Text => $"The strokes were heard by the simpler listener, because {Why}; more of them may be missed or mistaken.";
}
