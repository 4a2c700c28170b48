using System.Reflection;
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

    private static readonly string[] InputNames = ["features"];
    private static readonly string[] OutputNames = ["onset", "velocity", "offset"];
    private static readonly Lazy<(ListenerModel? Model, string? Why)> Loaded = new(TryLoad);

    private readonly InferenceSession _session;
    private readonly RunOptions _run = new();

    private ListenerModel(byte[] network, float[] thresholds, (double Slope, double Shift)[] calibration)
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
        _session = new InferenceSession(network, options);
        Thresholds = thresholds;
        Calibration = calibration;
    }

    /// <summary>Least onset value of each family that counts as a stroke.</summary>
    public float[] Thresholds { get; }

    /// <summary>Each family's line from certainty to probability, for <see cref="HitConfidence"/>.</summary>
    public (double Slope, double Shift)[] Calibration { get; }

    /// <summary>The shipped model; null with a reason where it is missing or its runtime cannot be loaded on this machine.</summary>
    public static (ListenerModel? Model, string? Why) Shipped() => Loaded.Value;

    /// <summary>Runs one window; the spans' arrays are used in place.</summary>
    /// <param name="pictures">Broad picture, then low picture, <paramref name="columns"/> columns each.</param>
    public void Run(float[] pictures, int columns, float[] onset, float[] velocity, float[] offset)
    {
        long[] outputShape = [1, columns, Channels];
        int outputs = columns * Channels;
        using OrtValue input = Tensor(pictures, 2 * columns * MelPicture.Bands, [1, 2, columns, MelPicture.Bands]);
        using OrtValue a = Tensor(onset, outputs, outputShape);
        using OrtValue b = Tensor(velocity, outputs, outputShape);
        using OrtValue c = Tensor(offset, outputs, outputShape);
        _session.Run(_run, InputNames, [input], OutputNames, [a, b, c]);
    }

    /// <summary>The shipped model lives as long as the process and is not disposed.</summary>
    public void Dispose()
    {
        _run.Dispose();
        _session.Dispose();
    }

    private static OrtValue Tensor(float[] values, int count, long[] shape) =>
        OrtValue.CreateTensorValueFromMemory(OrtMemoryInfo.DefaultInstance, values.AsMemory(0, count), shape);

    private static (ListenerModel?, string?) TryLoad()
    {
        Assembly assembly = typeof(ListenerModel).Assembly;
        using Stream? network = assembly.GetManifestResourceStream("Hindbeat.Listening.listener.onnx");
        using Stream? description = assembly.GetManifestResourceStream("Hindbeat.Listening.listener.json");
        if (network is null || description is null)
            return (null, "this build holds no trained model");
        try
        {
            byte[] bytes = new byte[network.Length];
            network.ReadExactly(bytes);
            using JsonDocument document = JsonDocument.Parse(description);
            return (new ListenerModel(bytes, ReadThresholds(document.RootElement), ReadCalibration(document.RootElement)), null);
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
