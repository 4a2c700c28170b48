using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>How edits change bars and places.</summary>
internal static class PulseEdits
{
    private const int MostPlacesABeat = 48;

    public static Meter MeterOf(string text)
    {
        try
        {
            return Meter.Parse(text);
        }
        catch (FormatException wrong)
        {
            throw new InputException(wrong.Message, wrong);
        }
    }

    /// <summary>The same beats at the same times, numbered anew; every stroke stays on its beat.</summary>
    public static ChartState Recount(ChartState state, Meter meter, int shift)
    {
        Pulse old = state.Performance.Pulse;
        if (shift != 0 && old.Changes.Count > 0)
            throw new InputException("The meter changes within this passage; split and join its bars instead of moving all bar lines.");
        if (Math.Abs(shift) >= meter.BeatsPerBar)
            throw new InputException($"Bar lines of {meter} move by less than {meter.BeatsPerBar} beats.");
        int toBarOne = (int)old.BeatsFromFirst(new BarPosition(1, 1, Fraction.Zero)).Floor() + shift;
        var beats = new Beat[old.Beats.Count];
        for (int i = 0; i < beats.Length; i++)
        {
            int fromBarOne = i - toBarOne;
            int bar = (int)Math.Floor((double)fromBarOne / meter.BeatsPerBar);
            beats[i] = new Beat(old.Beats[i].Time, bar + 1, fromBarOne - (bar * meter.BeatsPerBar) + 1);
        }

        var pulse = new Pulse(meter, beats, old.Confidence, PulseSource.ByHand);
        return OnTheSameBeats(state, pulse);
    }

    /// <summary>Strokes on a pulse with the same beats but other bars.</summary>
    public static ChartState OnTheSameBeats(ChartState state, Pulse pulse)
    {
        Pulse old = state.Performance.Pulse;
        return state with
        {
            Performance = new Performance(pulse, state.Performance.Hits.Select(hit => hit.Position is { } position
                ? hit with { Position = pulse.PositionAt(old.BeatsFromFirst(position)) }
                : hit)),
        };
    }

    public static ChartState Resubdivide(ChartState state, int firstBar, int lastBar, int placesABeat)
    {
        if (placesABeat is < 1 or > MostPlacesABeat)
            throw new InputException($"A beat is divided in 1 to {MostPlacesABeat}, not in {placesABeat}.");
        Pulse pulse = state.Performance.Pulse;
        return StrokeEdits.With(state, state.Performance.Hits.Select(hit => hit.Position is { } position && position.Bar >= firstBar && position.Bar <= lastBar
            ? hit with { Position = pulse.PositionAt(Fraction.Nearest(pulse.BeatsAt(hit.Time), placesABeat)) }
            : hit));
    }
}
