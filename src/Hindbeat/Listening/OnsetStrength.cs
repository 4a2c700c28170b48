using Hindbeat.Units;

namespace Hindbeat.Listening;

/// <summary>
/// How strongly something starts, frame by frame, in a few frequency bands (low to high). Frame i
/// stands for the moment <see cref="Start"/> + i / <see cref="FrameRate"/>. Values are 0 or more.
/// </summary>
/// <param name="Start">Moment of frame 0.</param>
/// <param name="FrameRate">Frames a second.</param>
/// <param name="Bands">One array a band, all of equal length.</param>
public sealed record OnsetStrength(AudioTime Start, double FrameRate, IReadOnlyList<float[]> Bands)
{
    public int Frames => Bands.Count == 0 ? 0 : Bands[0].Length;
}
