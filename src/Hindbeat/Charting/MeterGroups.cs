using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>A stretch of the bar that is written and beamed as one: a beat, or two or three eighths of 7/8.</summary>
public readonly record struct MeterGroup(Fraction Start, Fraction Length)
{
    public Fraction End => Start + Length;

    /// <summary>True when the stretch divides in three before it divides in two (a dotted value).</summary>
    public bool IsTernary => Length.Numerator % 3 == 0;
}

/// <summary>
/// How a bar falls into groups (common practice, no source): one a beat; 5/8, 7/8 and their like in twos
/// with a last three, so that no eighth stands alone.
/// </summary>
public static class MeterGroups
{
    public static IReadOnlyList<MeterGroup> Of(Meter meter)
    {
        bool byBeat = meter.IsCompound || meter.Denominator <= 4;
        int counts = byBeat ? meter.BeatsPerBar : meter.Numerator;
        Fraction count = byBeat ? meter.BeatLength : new Fraction(1, meter.Denominator);
        var groups = new List<MeterGroup>();
        for (int done = 0; done < counts;)
        {
            int left = counts - done;
            int size = byBeat || left == 1 ? 1 : left == 3 ? 3 : 2;
            groups.Add(new MeterGroup(count * done, count * size));
            done += size;
        }

        return groups;
    }

    /// <summary>The length of a whole bar as a share of a whole note.</summary>
    public static Fraction BarLength(Meter meter) => new(meter.Numerator, meter.Denominator);
}
