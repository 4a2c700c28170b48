using Hindbeat.Units;

namespace Hindbeat.Sound;

/// <summary>What a header may claim before it is taken for damage.</summary>
internal static class SoundLimits
{
    /// <summary>Below this no stroke keeps its attack; such a rate is a damaged header, not a recording.</summary>
    public const int LowestRate = 4000;

    /// <summary>Twice the highest rate that converters offer.</summary>
    public const int HighestRate = 768000;

    /// <summary>More than any mixer's multitrack file.</summary>
    public const int MostChannels = 256;

    /// <exception cref="InputException">Not a rate that drums are recorded at.</exception>
    public static int CheckRate(double rate, string name) =>
        rate is >= LowestRate and <= HighestRate
            ? (int)Math.Round(rate)
            : throw new InputException(FormattableString.Invariant($"{name} claims {rate:0} samples a second; sound has {LowestRate} to {HighestRate}, so its header is damaged."));

    /// <exception cref="InputException">No channel, or absurdly many.</exception>
    public static void CheckChannels(int channels, string name)
    {
        if (channels is < 1 or > MostChannels)
            throw new InputException($"{name} claims {channels} channels; its header is damaged.");
    }
}
