using System.Numerics.Tensors;
using Hindbeat.Sound;

namespace Hindbeat.Listening;

/// <summary>The sound about one moment in steps of 2 ms: <see cref="Columns"/> columns of <see cref="Bands"/> bands from 100 to 17,000 Hz.</summary>
/// <remarks>The same as `fine` in training/moments.py, compared by a test on stored numbers. One instance a thread; allocates nothing after it is made.</remarks>
internal sealed class FinePicture
{
    public const int Columns = 3 * RealFft.Lanes;
    public const int Bands = 24;

    private const int Window = 256;
    private const int Hop = 88;

    /// <summary>Columns before the moment.</summary>
    private const int Before = 5;

    private readonly MelPicture _picture = new(MonoSound.AnalysisRate, 100, 17000, ListenerPictures.Floor * ListenerPictures.Floor, Window, Bands);
    private readonly float[] _samples = new float[((Columns - 1) * Hop) + Window];

    /// <param name="sample">Sample of the recording that column <see cref="Before"/> is centred on.</param>
    /// <param name="gain">What brings the passage to −20 dBFS.</param>
    /// <param name="values">Column after column.</param>
    public void Measure(MonoSound sound, long sample, float gain, Span<float> values)
    {
        sound.Read(sample - (Before * Hop) - (Window / 2), _samples);
        TensorPrimitives.Multiply(_samples, gain, _samples);
        for (int column = 0; column < Columns; column += RealFft.Lanes)
            _picture.Measure(_samples.AsSpan(column * Hop), Hop, values.Slice(column * Bands, RealFft.Lanes * Bands));
    }
}
