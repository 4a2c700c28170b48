using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Tests.Feel;

/// <summary>Typed-in passages: a steady click and strokes with a deviation in ms each, nothing random.</summary>
internal sealed class Typed(double bpm, int bars, PulseSource source = PulseSource.Click, Meter? meter = null)
{
    private readonly List<Hit> _hits = [];

    public Meter Meter { get; } = meter ?? Meter.FourFour;
    public double BeatMs => 60_000 / bpm;
    public Pulse Pulse => Pulse.Steady(Meter, Bpm.Of(bpm), AudioTime.FromSeconds(2), (bars * Meter.BeatsPerBar) + 1, 1, source);

    /// <summary>One stroke at a place of one bar.</summary>
    public Typed Hit(KitPiece piece, int bar, int beat, Fraction within, double lateMs, double level = -12, double confidence = 1)
    {
        var position = new BarPosition(bar, beat, within);
        _hits.Add(new Hit(Pulse.TimeAt(position) + Seconds.FromMilliseconds(lateMs), piece, 90, Level.FromDbfs(level), confidence) { Position = position });
        return this;
    }

    /// <summary>The same stroke in every bar.</summary>
    public Typed EveryBar(KitPiece piece, int beat, Fraction within, double lateMs, double level = -12)
    {
        for (int bar = 1; bar <= bars; bar++)
            Hit(piece, bar, beat, within, lateMs, level);
        return this;
    }

    /// <summary>The same stroke on every beat.</summary>
    public Typed EveryBeat(KitPiece piece, Fraction within, double lateMs, double level = -12)
    {
        for (int beat = 1; beat <= Meter.BeatsPerBar; beat++)
            EveryBar(piece, beat, within, lateMs, level);
        return this;
    }

    public Performance Make() => new(Pulse, _hits);
}
