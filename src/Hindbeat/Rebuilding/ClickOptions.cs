using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>What a click sounds.</summary>
public sealed record ClickOptions
{
    public const int MostCountInBars = 8;
    public const int MostSubdivision = 4;

    /// <summary>Whole bars of click before the first bar.</summary>
    public int CountInBars { get; init; }

    /// <summary>Go on clicking under the music; false = count-in only.</summary>
    public bool Through { get; init; } = true;

    /// <summary>Clicks a beat, 1 to 4.</summary>
    public int Subdivision { get; init; } = 1;

    /// <summary>The bar's first beat sounds higher and louder.</summary>
    public bool AccentFirst { get; init; } = true;

    /// <summary>Only on the second, fourth, … beat of the bar, as the snare plays; the count-in stays whole.</summary>
    public bool OnlyBackbeats { get; init; }

    /// <summary>Bars with click before it drops out; 0 = it never does.</summary>
    public int BarsOn { get; init; }

    /// <summary>Bars without click before it comes back.</summary>
    public int BarsOff { get; init; }

    /// <summary>Long : short of the clicks between beats when the beat is divided by 2 or 4; 1 = straight.</summary>
    public double Swing { get; init; } = 1;

    /// <summary>−1 = hard left, 0 = middle, 1 = hard right.</summary>
    public double Place { get; init; }

    /// <summary>Gain on the click, dB; 0 is as loud as a plain snare stroke of the house kit.</summary>
    public double GainDb { get; init; }

    /// <exception cref="InputException">An option is outside its range; the message names it.</exception>
    internal void Check()
    {
        if (CountInBars is < 0 or > MostCountInBars)
            throw new InputException($"A count-in of {CountInBars} bars cannot be made; give 0 to {MostCountInBars}.");
        if (Subdivision is < 1 or > MostSubdivision)
            throw new InputException($"A click that divides the beat by {Subdivision} cannot be made; give 1 to {MostSubdivision}.");
        if (BarsOn < 0 || BarsOff < 0 || (BarsOn == 0) != (BarsOff == 0))
            throw new InputException($"A click that drops out needs both numbers of bars, on and off, above 0; these are {BarsOn} and {BarsOff}.");
        if (!(Swing >= 1 && Swing <= Dials.LargestRatio))
            throw new InputException(FormattableString.Invariant($"A click cannot swing {Swing} : 1; give long : short between 1 (straight) and {Dials.LargestRatio}."));
        if (!(Place >= -1 && Place <= 1))
            throw new InputException(FormattableString.Invariant($"The click's place is {Place}; it lies between −1 (left) and 1 (right)."));
        if (!(GainDb >= -60 && GainDb <= 24))
            throw new InputException(FormattableString.Invariant($"A click gain of {GainDb} dB is outside −60 to 24."));
    }
}
