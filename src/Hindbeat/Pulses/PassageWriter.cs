using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Pulses;

/// <summary>A passage written down.</summary>
/// <param name="Hits">Sorted by time.</param>
/// <param name="Places">Beats from the pulse's first beat, exact; one a hit.</param>
/// <param name="Beats">Seconds.</param>
internal sealed record Written(Hit[] Hits, Fraction[] Places, double[] Beats, SwingShape Swing, IReadOnlyList<Doubt> Doubts);

/// <summary>
/// Decides places and tempo curve in turns: places need the curve, the curve needs places and what swing and lay-back
/// add to them.
/// </summary>
internal static class PassageWriter
{
    private const int Rounds = 3;

    /// <summary>A stroke further than this from its place, in seconds, lies off the grid.</summary>
    private const double FarOff = 0.045;

    private const double ManyOff = 0.08;

    /// <summary>
    /// An even start may leave strokes looser than a curve that follows their wander, by so much, seconds. Strokes that do not keep
    /// to one tempo lie anywhere between its places, which are 37 ms and more apart.
    /// </summary>
    private const double EvenLoss = 0.006;

    /// <summary>Judged at the four fifths of the strokes: half of them may fit by chance where the tempo changes once.</summary>
    private const double LooseShare = 0.8;

    /// <summary>And it may explain them worse by so much, nats a stroke: strokes of a ritardando in the last bars need finer divisions to fit an even beat.</summary>
    private const double EvenUnexplained = 0.2;

    public static Written Write(Hit[] hits, StrokeTrain strokes, double[] beats, bool compound, TempoShape shape, double? statedBeat)
    {
        int[] main = GraceStrokes.MainStrokeOf(hits, BeatTimes.Mean(beats));
        (WrittenPlaces places, double[] curve, bool isSteady) = InTurns(strokes, main, beats, compound, shape, statedBeat);
        if (!isSteady && shape == TempoShape.Found)
        {
            // A path that followed loose strokes has put some of them into wrong places, and those hold it up; an even start may not.
            (WrittenPlaces evenPlaces, double[] even, bool isEven) = InTurns(strokes, main, StraightPath.Along(strokes, beats), compound, shape, statedBeat);
            if (isEven && Looseness(strokes, main, even, evenPlaces) <= Looseness(strokes, main, curve, places) + EvenLoss
                && Explained(strokes, main, even, compound) >= Explained(strokes, main, curve, compound) - EvenUnexplained)
                (places, curve) = (evenPlaces, even);
        }

        return Finish(hits, strokes, main, curve, places);
    }

    /// <summary>How far most strokes lie from where their places sound, habits taken out, seconds.</summary>
    private static double Looseness(StrokeTrain strokes, int[] main, double[] beats, WrittenPlaces places)
    {
        double[] deviations = Deviations(strokes, main, beats, places);
        StrokeHabits habits = StrokeHabits.Of(strokes, places.Places, deviations, 0);
        double[] distances = [.. Enumerable.Range(0, strokes.Count).Where(i => main[i] == i)
            .Select(i => Math.Abs(deviations[i] - habits.Late(strokes.VoiceOf[i]))).Order()];
        return distances[(int)(LooseShare * (distances.Length - 1))];
    }

    private static double Explained(StrokeTrain strokes, int[] main, double[] beats, bool compound) =>
        WrittenPlaces.Explain(strokes, main, beats, StrokeHabits.Whole(0), compound) / strokes.Count;

    private static (WrittenPlaces Places, double[] Beats, bool IsSteady) InTurns(StrokeTrain strokes, int[] main, double[] beats, bool compound, TempoShape shape, double? statedBeat)
    {
        bool isSteady = false;
        WrittenPlaces places = WrittenPlaces.Decide(strokes, main, beats, StrokeHabits.Whole(0), compound);
        for (int round = 0; round < Rounds; round++)
        {
            (int[] classes, bool[] isReference) = Classes(strokes, main, places.Places);
            (beats, isSteady) = TempoCurve.Fit(strokes.Times, places.Places, strokes.Weights, classes, isReference, beats.Length, shape, statedBeat);
            places = round < Rounds - 1 ? WrittenPlaces.Decide(strokes, main, beats, HabitsOf(strokes, main, beats, places), compound) : Settle(strokes, main, beats, compound);
        }

        return (places, beats, isSteady);
    }

    /// <summary>Places on beats that stay, from how late the whole kit is to each voice's habits; the same beats give the same places, however they were found.</summary>
    private static WrittenPlaces Settle(StrokeTrain strokes, int[] main, double[] beats, bool compound)
    {
        double shift = WholeShift(strokes, main, beats, compound);
        WrittenPlaces places = WrittenPlaces.Decide(strokes, main, beats, StrokeHabits.Whole(shift), compound);
        for (int round = 0; round < Rounds - 1; round++)
            places = WrittenPlaces.Decide(strokes, main, beats, HabitsOf(strokes, main, beats, places, shift), compound);
        return places;
    }

    public static Written WriteOn(Hit[] hits, StrokeTrain strokes, Pulse pulse)
    {
        double[] beats = [.. pulse.Beats.Select(beat => beat.Time.TotalSeconds)];
        // Strokes outside the pulse are written on its even continuation.
        int before = Math.Max(0, -(int)Math.Floor(pulse.BeatsAt(hits[0].Time) + 0.12));
        int after = Math.Max(0, (int)Math.Floor(pulse.BeatsAt(hits[^1].Time)) + 2 - beats.Length);
        double[] wide = [.. Enumerable.Range(-before, before + beats.Length + after).Select(k => pulse.TimeAt((double)k).TotalSeconds)];
        int[] main = GraceStrokes.MainStrokeOf(hits, BeatTimes.Mean(wide));
        WrittenPlaces places = Settle(strokes, main, wide, pulse.Meter.IsCompound);
        Written written = Finish(hits, strokes, main, wide, places);
        return written with { Places = [.. written.Places.Select(place => place - new Fraction(before))], Beats = beats };
    }

    /// <summary>
    /// How late the whole kit is against a given pulse, seconds: drummers lie tens of milliseconds before or behind a click,
    /// and kits add a delay of their own, so strokes are read against the pulse they keep to.
    /// </summary>
    private static double WholeShift(StrokeTrain strokes, int[] main, double[] beats, bool compound)
    {
        double beat = BeatTimes.Mean(beats);
        // Lateness of the whole may look like swing, so both are tried.
        SwingShape[] shapes = [.. new[] { SwingShape.Straight, WrittenPlaces.Decide(strokes, main, beats, StrokeHabits.Whole(0), compound).Swing }.Distinct()];
        double best = 0;
        double top = double.NegativeInfinity;
        for (double shift = -0.06; shift <= 0.0601; shift += 0.01)
        {
            if (Math.Abs(shift) >= 0.11 * beat)
                continue;
            // A bell of 25 ms about zero: of two readings equally good the one nearer the click.
            double value = shapes.Max(swing => WrittenPlaces.Explain(strokes, main, beats, StrokeHabits.Whole(shift), compound, swing)) - (0.5 * shift * shift / (0.025 * 0.025));
            if (value > top)
                (top, best) = (value, shift);
        }

        return best;
    }

    private static Written Finish(Hit[] hits, StrokeTrain strokes, int[] main, double[] beats, WrittenPlaces places)
    {
        int off = Deviations(strokes, main, beats, places).Count(deviation => Math.Abs(deviation) > FarOff);
        double share = (double)off / hits.Length;
        List<Doubt> doubts = [];
        if (share > ManyOff)
            doubts.Add(new HitsOffTheGrid(off, share));
        return new Written(hits, places.Places, beats, places.Swing, doubts);
    }

    private static StrokeHabits HabitsOf(StrokeTrain strokes, int[] main, double[] beats, WrittenPlaces places, double whole = 0) =>
        StrokeHabits.Of(strokes, places.Places, Deviations(strokes, main, beats, places), whole);

    /// <summary>Each stroke's distance from where its place sounds, seconds; NaN for graces.</summary>
    private static double[] Deviations(StrokeTrain strokes, int[] main, double[] beats, WrittenPlaces places) =>
        [.. strokes.Times.Select((time, i) => main[i] == i ? time - BeatTimes.At(beats, Sounding(places, i)) : double.NaN)];

    /// <summary>Where a stroke's written place sounds, in beats, with the passage's swing.</summary>
    private static double Sounding(WrittenPlaces places, int stroke)
    {
        Fraction place = places.Places[stroke];
        long beat = place.Floor();
        Fraction within = place - new Fraction(beat);
        BeatGrid grid = places.GridOfBeat[Math.Clamp((int)beat, 0, places.GridOfBeat.Length - 1)];
        int index = Array.IndexOf(grid.Written, within);
        return beat + (index >= 0 ? grid.SoundingAt(index, places.Swing) : within.ToDouble());
    }

    /// <summary>A class a voice and place within the beat. The reference is the time-keeping hand on the beat, or every voice on it when no hand keeps time.</summary>
    internal static (int[] Classes, bool[] IsReference) Classes(StrokeTrain strokes, int[] main, Fraction[] places)
    {
        Dictionary<(int Voice, Fraction Within), int> known = [];
        int[] classes = new int[strokes.Count];
        for (int i = 0; i < classes.Length; i++)
        {
            // A voice, not a piece: loud and soft strokes of one hand may lie apart, but are one limb.
            int voice = strokes.VoiceOf[i] switch { Voice.SoftTime => (int)Voice.LoudTime, Voice.GhostSnare => (int)Voice.Backbeat, _ => (int)strokes.VoiceOf[i] };
            Fraction within = places[i] - new Fraction(places[i].Floor());
            if (main[i] != i)
                classes[i] = -1;
            else if (!known.TryGetValue((voice, within), out classes[i]))
                known[(voice, within)] = classes[i] = known.Count;
        }

        int timeStrokes = classes.Where((c, i) => c >= 0 && strokes.VoiceOf[i] is Voice.LoudTime or Voice.SoftTime && places[i].Denominator == 1).Count();
        bool handKeepsTime = timeStrokes >= Math.Max(4, 0.2 * strokes.Count / 4);
        bool[] isReference = new bool[known.Count];
        foreach (((int voice, Fraction within), int c) in known)
            isReference[c] = within == 0 && (!handKeepsTime || voice == (int)Voice.LoudTime);
        return (classes, isReference);
    }
}
