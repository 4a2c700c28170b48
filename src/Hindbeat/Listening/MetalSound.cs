using System.Numerics.Tensors;

namespace Hindbeat.Listening;

/// <summary>How a stroke on metal sounds on: what tells hats from cymbals in any room, whatever the microphones' colour.</summary>
/// <param name="Body">Amplitude above 5 kHz 46–87 ms after the onset, as multiple of that in the attack; null when the next stroke hides it.</param>
/// <param name="Late">The same 105–186 ms after it.</param>
/// <param name="Level">Attack above 5 kHz in dB (only differences mean anything).</param>
/// <param name="Brightness">Attack above 9 kHz as multiple of that from 2 to 5 kHz.</param>
internal readonly record struct MetalSound(float? Body, float? Late, float Level, float Brightness)
{
    private const int FirstHigh = 15;

    public static MetalSound Of(Moment moment)
    {
        float attack = Sum(moment, 0, FirstHigh, BandPowers.Bands) + 1e-9f;
        return new MetalSound(
            moment.Described > 2 ? Sum(moment, 2, FirstHigh, BandPowers.Bands) / attack : null,
            moment.Described > 3 ? Sum(moment, 3, FirstHigh, BandPowers.Bands) / attack : null,
            20 * MathF.Log10(attack),
            Sum(moment, 0, 18, BandPowers.Bands) / (Sum(moment, 0, 13, 17) + 1e-9f));
    }

    private static float Sum(Moment moment, int stretch, int first, int end) =>
        TensorPrimitives.Sum<float>(moment.Heard.AsSpan((stretch * BandPowers.Bands) + first, end - first));
}
