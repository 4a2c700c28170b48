using Hindbeat.Performances;

namespace Hindbeat.Sound;

/// <summary>The file does not say how many samples its encoder put before the recording.</summary>
/// <param name="Kind">Kind of file in words: "MP3".</param>
public sealed record EncoderDelayUnknown(string Kind) : Doubt
{
    public override string Text =>
        $"This {Kind} does not say how much silence its encoder put in front, so all times may be shifted by one amount (often 25 to 50 ms); distances between strokes are not affected.";
}

/// <summary>The file ends before its own header says it should.</summary>
/// <param name="PresentSeconds">What could be read.</param>
/// <param name="PromisedSeconds">What the header promised; null when it promised nothing.</param>
public sealed record SoundCutShort(double PresentSeconds, double? PromisedSeconds) : Doubt
{
    public override string Text => PromisedSeconds is { } promised
        ? FormattableString.Invariant($"The file is cut short: its header promises {promised:0.0} s, {PresentSeconds:0.0} s are there (an unfinished copy or download?).")
        : FormattableString.Invariant($"The file was not finished by the program that wrote it; the {PresentSeconds:0.0} s that are there are used.");
}

/// <summary>Damaged stretches were left out, so times behind them may be early.</summary>
public sealed record SoundDamaged(string Kind) : Doubt
{
    public override string Text => $"Parts of this {Kind} are damaged and were passed over; strokes behind such a place may be early.";
}

/// <summary>The file strings several recordings together; only the first is read.</summary>
public sealed record OnlyFirstRecording : Doubt
{
    public override string Text => "The file holds several recordings one after the other; only the first is read.";
}

/// <summary>The channels cancel when they are mixed, so one of them is listened to alone.</summary>
/// <param name="Channel">Counted from 1.</param>
public sealed record ChannelsCancel(int Channel) : Doubt
{
    public override string Text =>
        $"The channels cancel each other when mixed (one is wired with reversed polarity?), so channel {Channel} is listened to alone.";
}
