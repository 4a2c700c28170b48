namespace Hindbeat.Units;

/// <summary>
/// A written place: bar and beat counted from 1 as musicians count them, and an exact fraction of the
/// beat in [0, 1). "2 e" in the third bar of 4/4 is bar 3, beat 2, 1/4.
/// </summary>
/// <remarks>
/// Bar 0 holds a pickup (an incomplete bar before bar 1); earlier bars are negative. <c>default</c> is
/// not a written place (its beat is 0).
/// </remarks>
public readonly record struct BarPosition : IComparable<BarPosition>
{
    /// <exception cref="ArgumentOutOfRangeException">The beat is below 1, or the fraction is outside [0, 1).</exception>
    public BarPosition(int bar, int beat, Fraction within)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(beat, 1);
        if (within < 0 || within >= 1)
            throw new ArgumentOutOfRangeException(nameof(within), within, "The place within a beat must be at least 0 and below 1; carry whole beats into the beat number.");
        Bar = bar;
        Beat = beat;
        Within = within;
    }

    public int Bar { get; }
    public int Beat { get; }

    /// <summary>Exact fraction of the beat, 0 ≤ Within &lt; 1.</summary>
    public Fraction Within { get; }

    public int CompareTo(BarPosition other)
    {
        int byBar = Bar.CompareTo(other.Bar);
        if (byBar != 0)
            return byBar;
        int byBeat = Beat.CompareTo(other.Beat);
        return byBeat != 0 ? byBeat : Within.CompareTo(other.Within);
    }

    public static bool operator <(BarPosition a, BarPosition b) => a.CompareTo(b) < 0;
    public static bool operator >(BarPosition a, BarPosition b) => a.CompareTo(b) > 0;
    public static bool operator <=(BarPosition a, BarPosition b) => a.CompareTo(b) <= 0;
    public static bool operator >=(BarPosition a, BarPosition b) => a.CompareTo(b) >= 0;

    public override string ToString() => Within == 0 ? $"bar {Bar}, beat {Beat}" : $"bar {Bar}, beat {Beat} + {Within}";
}
