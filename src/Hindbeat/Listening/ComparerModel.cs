using Microsoft.ML.OnnxRuntime;

namespace Hindbeat.Listening;

/// <summary>
/// The second trained network: what was struck at each moment of a passage, in the light of its other moments (models/, made by training/export_comparer.py).
/// </summary>
/// <remarks>
/// In two parts, so that a long recording need not keep its pictures. <see cref="Look"/>: "curves", "hidden", "pictures" and "fine" [moments, n] to "seen" [moments, <see cref="Seen"/>],
/// each moment by itself. <see cref="Compare"/>: "seen", "gaps" and "curves" [1, moments, n] to "onset" and "velocity" (0 to 1, [1, moments, <see cref="ListenerModel.Channels"/>]) and
/// "place" (columns from the moment, [1, moments, <see cref="ListenerModel.Families"/>]). One thread each. Safe to use from several threads.
/// </remarks>
internal sealed class ComparerModel(byte[] look, byte[] compare) : IDisposable
{
    /// <summary>Values that stand for a moment.</summary>
    public const int Seen = 192;

    /// <summary>The network's own word at a moment.</summary>
    public const int Curves = 63;

    /// <summary>Values of the listener's last layer but one.</summary>
    public const int Hidden = 3 * ListenerModel.Hidden;

    /// <summary>Values of its two pictures.</summary>
    public const int Pictures = 15 * 2 * MelPicture.Bands;

    /// <summary>Values of the picture in steps of 2 ms.</summary>
    public const int Fine = FinePicture.Columns * FinePicture.Bands;

    /// <summary>Distances to the moments around.</summary>
    public const int Gaps = 4;

    private static readonly string[] LookInputs = ["curves", "hidden", "pictures", "fine"];
    private static readonly string[] LookOutputs = ["seen"];
    private static readonly string[] CompareInputs = ["seen", "gaps", "curves"];
    private static readonly string[] CompareOutputs = ["onset", "velocity", "place"];

    private readonly InferenceSession _look = ListenerModel.Session(look);
    private readonly InferenceSession _compare = ListenerModel.Session(compare);
    private readonly RunOptions _run = new();

    /// <summary>Sums up what is seen at some moments; arrays hold a row a moment and are used in place.</summary>
    public void Look(int moments, float[] curves, float[] hidden, float[] pictures, float[] fine, float[] seen)
    {
        using OrtValue a = ListenerModel.Tensor(curves, moments * Curves, [moments, Curves]);
        using OrtValue b = ListenerModel.Tensor(hidden, moments * Hidden, [moments, Hidden]);
        using OrtValue c = ListenerModel.Tensor(pictures, moments * Pictures, [moments, Pictures]);
        using OrtValue d = ListenerModel.Tensor(fine, moments * Fine, [moments, Fine]);
        using OrtValue result = ListenerModel.Tensor(seen, moments * Seen, [moments, Seen]);
        _look.Run(_run, LookInputs, [a, b, c, d], LookOutputs, [result]);
    }

    /// <summary>Compares the moments of a passage, in order of time; arrays hold a row a moment and are used in place.</summary>
    public void Compare(int moments, float[] seen, float[] gaps, float[] curves, float[] onset, float[] velocity, float[] place)
    {
        using OrtValue a = ListenerModel.Tensor(seen, moments * Seen, [1, moments, Seen]);
        using OrtValue b = ListenerModel.Tensor(gaps, moments * Gaps, [1, moments, Gaps]);
        using OrtValue c = ListenerModel.Tensor(curves, moments * Curves, [1, moments, Curves]);
        using OrtValue x = ListenerModel.Tensor(onset, moments * ListenerModel.Channels, [1, moments, ListenerModel.Channels]);
        using OrtValue y = ListenerModel.Tensor(velocity, moments * ListenerModel.Channels, [1, moments, ListenerModel.Channels]);
        using OrtValue z = ListenerModel.Tensor(place, moments * ListenerModel.Families, [1, moments, ListenerModel.Families]);
        _compare.Run(_run, CompareInputs, [a, b, c], CompareOutputs, [x, y, z]);
    }

    public void Dispose()
    {
        _run.Dispose();
        _look.Dispose();
        _compare.Dispose();
    }
}
