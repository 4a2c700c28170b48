using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>
/// When and how strongly each stroke of a rebuild sounds:
/// <c>time = tempo(place) + swing·s + layBack·l + habit·h + chance·c</c>, each part scaled by its dial.
/// All dials at 1 give each hit's own time, all at 0 the written time at the passage's mean tempo.
/// </summary>
/// <remarks>
/// The tempo runs between the pulse as played and a steady one that starts with the pulse's first beat.
/// Swing is kept as a share of the beat, so that the ratio stays when the tempo is straightened. A hit
/// without a written place keeps its distance to the placed hit nearest in time, so a grace stroke stays
/// with its main stroke; when no hit has a place, all stay as played. Strokes come in the performance's
/// order, one a hit, so that two plans of one passage can be compared stroke by stroke.
/// A swing dial above 1 on a large ratio may carry an off-beat past the next beat; nothing is clipped.
/// </remarks>
public static class RebuildPlan
{
    private const double LowestVelocity = 1;
    private const double HighestVelocity = 127;

    /// <exception cref="InputException">A dial is outside its range.</exception>
    public static IReadOnlyList<PlannedStroke> Make(Performance performance, FeelReport report, Dials dials)
    {
        ArgumentNullException.ThrowIfNull(performance);
        ArgumentNullException.ThrowIfNull(report);
        ArgumentNullException.ThrowIfNull(dials);
        dials.Check();
        StrokeParts?[] parts = FeelParts.Of(performance, report);
        if (dials.FreshLooseness is { } seed)
            parts = FreshLooseness.Draw(performance, report, parts, seed);
        double[] times = PlacedTimes(performance, parts, dials);
        FollowNeighbours(performance, parts, times, dials);
        double[] velocities = Velocities(performance, dials.Touch);
        return [.. performance.Hits.Select((hit, i) => new PlannedStroke(AudioTime.FromSeconds(times[i]), hit.Piece, velocities[i]))];
    }

    private static double[] PlacedTimes(Performance performance, StrokeParts?[] parts, Dials dials)
    {
        Pulse pulse = performance.Pulse;
        SwingOffsets? setByHand = dials.SwingTo is { } setting ? SwingOffsets.Set(performance.Meter, setting) : null;
        double first = pulse.TimeAt(0.0).TotalSeconds;
        double steadyBeat = pulse.MeanTempo.Beat.Value;
        double stretch = RebuildTempo.Stretch(performance, dials);
        double feelStretch = dials.FeelScale == FeelScale.ByBeat ? stretch : 1;
        var times = new double[parts.Length];
        for (int i = 0; i < parts.Length; i++)
        {
            Hit hit = performance.Hits[i];
            if (parts[i] is not { } part)
                continue;
            double steady = first + (steadyBeat * part.BeatsFromFirst);
            double breathing = pulse.TimeAt(part.BeatsFromFirst).TotalSeconds;
            double beat = Blend(steadyBeat, FeelParts.BeatLength(pulse, part.BeatsFromFirst), dials.Tempo);
            // A ratio set by hand is one at every tempo; a measured delay may stay in milliseconds.
            double swing = setByHand is null
                ? feelStretch * dials.Swing * part.SwingBeats
                : stretch * setByHand.InBeats(hit.Position!.Value, hit.Piece);
            double onTempo = Blend(steady, breathing, dials.Tempo);
            times[i] = first + (stretch * (onTempo - first))
                + (swing * beat)
                + LayBack(hit.Piece, part, dials, feelStretch)
                + (feelStretch * dials.Habits * part.Habit)
                + (feelStretch * LoosenessOf(hit.Piece, dials) * part.Chance);
        }

        return times;
    }

    /// <summary>A lay-back set by hand is in milliseconds at every tempo.</summary>
    private static double LayBack(KitPiece piece, StrokeParts part, Dials dials, double feelStretch)
    {
        dials.Pieces.TryGetValue(piece, out PieceDial? own);
        return own?.LayBackTo?.Value ?? (feelStretch * (own?.LayBack ?? dials.LayBack) * part.LayBack);
    }

    private static double LoosenessOf(KitPiece piece, Dials dials) =>
        dials.Pieces.TryGetValue(piece, out PieceDial? own) && own.Looseness is { } share ? share : dials.Looseness;

    private static void FollowNeighbours(Performance performance, StrokeParts?[] parts, double[] times, Dials dials)
    {
        double stretch = RebuildTempo.Stretch(performance, dials);
        double distance = dials.FeelScale == FeelScale.ByBeat ? stretch : 1;
        int[] placed = [.. Enumerable.Range(0, parts.Length).Where(i => parts[i] is not null)];
        for (int i = 0; i < parts.Length; i++)
        {
            if (parts[i] is not null)
                continue;
            double played = performance.Hits[i].Time.TotalSeconds;
            if (placed.Length == 0)
            {
                times[i] = RebuildTempo.TimeOf(performance, dials, performance.Hits[i].Time).TotalSeconds;
                continue;
            }

            int after = ~Array.BinarySearch(placed, i);
            int near = after == placed.Length
                || (after > 0 && played - TimeOf(placed[after - 1]) < TimeOf(placed[after]) - played)
                ? placed[after - 1]
                : placed[after];
            times[i] = times[near] + (distance * (played - TimeOf(near)));
        }

        double TimeOf(int hit) => performance.Hits[hit].Time.TotalSeconds;
    }

    /// <summary>
    /// Written loudness knows a piece's ghosts, accents and plain strokes, each at its mean; the dial goes
    /// from there to the played one and beyond, held in MIDI's range of 1 to 127.
    /// </summary>
    private static double[] Velocities(Performance performance, double touch)
    {
        const HitMarks Written = HitMarks.Ghost | HitMarks.Accent;
        Dictionary<(KitPiece, HitMarks), double> means = performance.Hits
            .GroupBy(hit => (hit.Piece, hit.Marks & Written))
            .ToDictionary(group => group.Key, group => group.Average(hit => (double)hit.Velocity));
        return [.. performance.Hits.Select(hit =>
            Math.Clamp(Blend(means[(hit.Piece, hit.Marks & Written)], hit.Velocity, touch), LowestVelocity, HighestVelocity))];
    }

    /// <summary>From <paramref name="written"/> at 0 to <paramref name="played"/> at 1; exactly so at both.</summary>
    private static double Blend(double written, double played, double share) => ((1 - share) * written) + (share * played);
}
