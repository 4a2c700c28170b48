using Hindbeat.Listening;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Pulses;

/// <summary>
/// Applies what a person has corrected, each correction redoing only what depends on it: a stated tempo the comparison of readings, a shape
/// the curve, all others only the numbering of beats and the writing of strokes.
/// </summary>
/// <remarks>
/// A corrected pulse is <see cref="PulseSource.ByHand"/> with confidence 1: what a person corrects and leaves standing counts as
/// confirmed. The pulse of a click stays a click while its beats stay on it.
/// </remarks>
public static class PulseCorrector
{
    /// <summary>How far from a beat a moment lies half-way between two, in beats.</summary>
    private const double NearerTheMiddle = 0.25;

    /// <param name="barOne">Where a person has set bar 1 before; a stated tempo keeps it.</param>
    /// <exception cref="InputException">A correction that this pulse does not allow; the message says which.</exception>
    public static PulseResult Apply(PulseResult found, IReadOnlyList<PulseCorrection> corrections, OnsetStrength? strength = null, AudioTime? barOne = null)
    {
        ArgumentNullException.ThrowIfNull(found);
        ArgumentNullException.ThrowIfNull(corrections);
        foreach (PulseCorrection correction in corrections)
        {
            found = One(found.Performance, correction, strength, barOne);
            if (correction is BarOneSet set)
                barOne = set.Time;
        }

        return found;
    }

    private static PulseResult One(Performance performance, PulseCorrection correction, OnsetStrength? strength, AudioTime? barOne)
    {
        Pulse pulse = performance.Pulse;
        IReadOnlyList<Hit> hits = performance.Hits;
        switch (correction)
        {
            case TempoStated stated:
                PulseResult read = PulseFinder.Find(hits, strength, new PulseOptions { Tempo = stated.Tempo, Meter = pulse.Meter, BarOne = barOne });
                return read with { Performance = new Performance(Numbered(read.Performance.Pulse, PulseSource.ByHand), read.Performance.Hits) };
            case ShapeStated stated:
                Written written = PulseFinder.Refit(hits, pulse, stated.Shape);
                return PulseFinder.PlaceOn(Numbered(pulse.Meter, written.Beats, IndexOfOne(pulse), PulseSource.ByHand), hits);
            default:
                return PulseFinder.PlaceOn(Corrected(pulse, correction), hits);
        }
    }

    private static Pulse Corrected(Pulse pulse, PulseCorrection correction)
    {
        double[] times = [.. pulse.Beats.Select(beat => beat.Time.TotalSeconds)];
        int one = IndexOfOne(pulse);
        PulseSource kept = pulse.Source == PulseSource.Click ? PulseSource.Click : PulseSource.ByHand;
        switch (correction)
        {
            case TempoHalved:
                return Halved(pulse.Meter, times, one, kept);
            case TempoDoubled:
                double[] twice = [.. Enumerable.Range(0, (2 * times.Length) - 1).Select(k => BeatTimes.At(times, k / 2.0))];
                if (60 / BeatTimes.Mean(twice) > 600)
                    throw new InputException("The tempo cannot be doubled again: beats would follow each other faster than any drummer counts.");
                return Numbered(pulse.Meter, twice, 2 * one, kept);
            case MeterStated stated:
                return Numbered(stated.Meter, times, one, kept);
            case BarOneSet set:
                return WithBarOneAt(pulse.Meter, times, set.Time.TotalSeconds, kept);
            case BeatMoved moved:
                return WithBeatAt(pulse, times, one, moved);
            default:
                throw new ArgumentOutOfRangeException(nameof(correction), correction, "This correction is not known.");
        }
    }

    private static Pulse Halved(Meter meter, double[] times, int one, PulseSource source)
    {
        int first = ((one % 2) + 2) % 2;
        double[] half = [.. times.Where((_, k) => k % 2 == first)];
        if (half.Length < 2)
            throw new InputException("The tempo cannot be halved: fewer than two beats would be left.");
        // The passage's ends stay covered: a beat that falls away there is made up by the even continuation.
        List<double> beats = [.. half];
        int before = 0;
        if (half[0] > times[0])
        {
            beats.Insert(0, (2 * half[0]) - half[1]);
            before = 1;
        }

        if (half[^1] < times[^1])
            beats.Add((2 * half[^1]) - half[^2]);
        return Numbered(meter, [.. beats], ((one - first) / 2) + before, source);
    }

    private static Pulse WithBarOneAt(Meter meter, double[] times, double time, PulseSource source)
    {
        if (time < times[0] - BeatTimes.Mean(times) || time > times[^1] + BeatTimes.Mean(times))
            throw new InputException(FormattableString.Invariant($"Bar 1 cannot start at {time:0.###} s; the passage's beats run from {times[0]:0.###} to {times[^1]:0.###} s."));
        double place = BasePath.PlaceAt(times, time);
        double nearest = Math.Round(place);
        if (Math.Abs(place - nearest) <= NearerTheMiddle)
            return Numbered(meter, times, (int)nearest, source);
        // Half a beat off: all beats move to the middles, one more so that the ends stay covered.
        double[] moved = [.. Enumerable.Range(0, times.Length + 1).Select(k => BeatTimes.At(times, k - 0.5))];
        return Numbered(meter, moved, (int)Math.Floor(place) + 1, source);
    }

    private static Pulse WithBeatAt(Pulse pulse, double[] times, int one, BeatMoved moved)
    {
        int index = one + ((moved.Bar - 1) * pulse.Meter.BeatsPerBar) + moved.Beat - 1;
        if (index < 0 || index >= times.Length || moved.Beat < 1 || moved.Beat > pulse.Meter.BeatsPerBar)
            throw new InputException($"There is no beat {moved.Beat} of bar {moved.Bar}; the passage's bars run from {pulse.FirstBar} to {pulse.LastBar} with {pulse.Meter.BeatsPerBar} beats each.");
        double time = moved.Time.TotalSeconds;
        if ((index > 0 && time <= times[index - 1]) || (index + 1 < times.Length && time >= times[index + 1]))
            throw new InputException(FormattableString.Invariant($"Beat {moved.Beat} of bar {moved.Bar} lies at {times[index]:0.###} s and cannot be moved past its neighbours, to {time:0.###} s."));
        times[index] = time;
        return Numbered(pulse.Meter, times, one, PulseSource.ByHand);
    }

    /// <summary>Index of beat 1 of bar 1, which may lie outside the passage.</summary>
    private static int IndexOfOne(Pulse pulse) => ((1 - pulse.Beats[0].Bar) * pulse.Meter.BeatsPerBar) + 1 - pulse.Beats[0].Number;

    private static Pulse Numbered(Pulse pulse, PulseSource source) => new(pulse.Meter, pulse.Beats, 1.0, source);

    private static Pulse Numbered(Meter meter, double[] times, int one, PulseSource source) => ReadingBeats.ToPulse(meter, times, -one, 1.0, source);
}
