using System.Text.Json;
using Microsoft.ML.OnnxRuntime;

namespace Hindbeat.Listening;

/// <summary>The trained network and the thresholds that were chosen with it (models/, made by training/export.py).</summary>
/// <remarks>
/// Input "features" [1, 2, columns, 84]; outputs "onset" (0 to 1), "velocity" (0 to 1) and "offset" (columns), each
/// [1, columns, <see cref="Channels"/>]: five families, then the pieces in the order of the kit pieces. Runs on one thread.
/// Safe to use from several threads.
/// </remarks>
internal sealed class ListenerModel : IDisposable
{
    public const int Families = 5;
    public const int Pieces = 14;
    public const int Channels = Families + Pieces;

    /// <summary>Values of the network's last layer but one.</summary>
    public const int Hidden = 128;

    private static readonly string[] InputNames = ["features"];
    private static readonly string[] OutputNames = ["onset", "velocity", "offset", "hidden"];
    private static readonly Lazy<(ListenerModel? Model, string? Why)> Loaded = new(TryLoad);

    private readonly InferenceSession _session;
    private readonly RunOptions _run = new();

    private ListenerModel(byte[] network, ComparerModel comparer, LoudnessModel loudness, float[] thresholds, (double Slope, double Shift)[] calibration)
    {
        Comparer = comparer;
        Loudness = loudness;
        _session = Session(network);
        Thresholds = thresholds;
        Calibration = calibration;
    }

    /// <summary>The network that weighs every stroke anew beside all others.</summary>
    public ComparerModel Comparer { get; }

    /// <summary>What weighs the estimates of each stroke's loudness.</summary>
    public LoudnessModel Loudness { get; }

    /// <summary>Least onset value of each family that counts as a stroke.</summary>
    public float[] Thresholds { get; }

    /// <summary>Each family's line from certainty to probability, for <see cref="HitConfidence"/>.</summary>
    public (double Slope, double Shift)[] Calibration { get; }

    /// <summary>The shipped model; null with a reason where it is missing or its runtime cannot be loaded on this machine.</summary>
    public static (ListenerModel? Model, string? Why) Shipped() => Loaded.Value;

    /// <summary>Runs one window; the spans' arrays are used in place.</summary>
    /// <param name="pictures">Broad picture, then low picture, <paramref name="columns"/> columns each.</param>
    public void Run(float[] pictures, int columns, float[] onset, float[] velocity, float[] offset, float[] hidden)
    {
        long[] outputShape = [1, columns, Channels];
        int outputs = columns * Channels;
        using OrtValue input = Tensor(pictures, 2 * columns * MelPicture.Bands, [1, 2, columns, MelPicture.Bands]);
        using OrtValue a = Tensor(onset, outputs, outputShape);
        using OrtValue b = Tensor(velocity, outputs, outputShape);
        using OrtValue c = Tensor(offset, outputs, outputShape);
        using OrtValue d = Tensor(hidden, columns * Hidden, [1, Hidden, columns]);
        _session.Run(_run, InputNames, [input], OutputNames, [a, b, c, d]);
    }

    /// <summary>The shipped model lives as long as the process and is not disposed.</summary>
    public void Dispose()
    {
        Comparer.Dispose();
        _run.Dispose();
        _session.Dispose();
    }

    /// <summary>A network on one thread.</summary>
    internal static InferenceSession Session(byte[] network)
    {
        using SessionOptions options = new()
        {
            IntraOpNumThreads = 1,
            InterOpNumThreads = 1,
            GraphOptimizationLevel = GraphOptimizationLevel.ORT_ENABLE_ALL,
            ExecutionMode = ExecutionMode.ORT_SEQUENTIAL,

            // It keeps 20 MB that one window needs; without it every window waits for fresh pages and takes a third longer.
            EnableCpuMemArena = true,
        };
        return new InferenceSession(network, options);
    }

    /// <summary>An array as a tensor, used in place.</summary>
    internal static OrtValue Tensor(float[] values, int count, long[] shape) =>
        OrtValue.CreateTensorValueFromMemory(OrtMemoryInfo.DefaultInstance, values.AsMemory(0, count), shape);

    /// <summary>A file of models/ that travels in the assembly; null where it is missing.</summary>
    internal static byte[]? Embedded(string name)
    {
        using Stream? stream = typeof(ListenerModel).Assembly.GetManifestResourceStream($"Hindbeat.Listening.{name}");
        if (stream is null)
            return null;
        byte[] bytes = new byte[stream.Length];
        stream.ReadExactly(bytes);
        return bytes;
    }

    private static (ListenerModel?, string?) TryLoad()
    {
        byte[]? network = Embedded("listener.onnx");
        byte[]? look = Embedded("comparer-look.onnx");
        byte[]? compare = Embedded("comparer.onnx");
        byte[]? loudness = Embedded("loudness.json");
        byte[]? description = Embedded("listener.json");
        if (network is null || look is null || compare is null || loudness is null || description is null)
            return (null, "this build holds no trained model");
        try
        {
            using JsonDocument document = JsonDocument.Parse(description);
            return (new ListenerModel(network, new ComparerModel(look, compare), LoudnessModel.Parse(loudness), ReadThresholds(document.RootElement), ReadCalibration(document.RootElement)), null);
        }
        catch (Exception reason) when (reason is DllNotFoundException or TypeInitializationException or EntryPointNotFoundException or BadImageFormatException or OnnxRuntimeException)
        {
            return (null, "the runtime of the trained model does not work on this machine");
        }
    }

    private static float[] ReadThresholds(JsonElement root)
    {
        JsonElement thresholds = root.GetProperty("thresholds");
        return [.. root.GetProperty("families").EnumerateArray().Select(family => thresholds.GetProperty(family.GetString()!).GetSingle())];
    }

    /// <summary>A description without lines leaves certainties as they are.</summary>
    private static (double, double)[] ReadCalibration(JsonElement root) =>
        [.. root.GetProperty("families").EnumerateArray().Select(family => root.TryGetProperty("calibration", out JsonElement lines)
            ? (lines.GetProperty(family.GetString()!)[0].GetDouble(), lines.GetProperty(family.GetString()!)[1].GetDouble())
            : (1.0, 0.0))];
}
