using System.Numerics;
using System.Runtime.InteropServices;
using System.Security.Cryptography;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Sound;

/// <summary>Reads whole recordings: for listening (mono, one rate) and for playing (stereo, the file's own rate).</summary>
public static class SoundLoader
{
    private const int FramesAtOnce = 8192;

    /// <summary>
    /// When mixing leaves less than a thousandth of the channels' energy (30 dB), they cancel: one was wired
    /// with reversed polarity. Two unlike channels lose 3 dB, a wide stereo mix a few more.
    /// </summary>
    private const double CancelledShare = 1e-3;

    private const double ShareOfHashing = 0.1;

    /// <summary>
    /// Decodes a recording to mono at <see cref="MonoSound.AnalysisRate"/>: the average of its channels (or the
    /// loudest alone when they cancel), resampled without shifting anything in time.
    /// </summary>
    /// <param name="progress">Share done, 0 to 1; for files read through ffmpeg it jumps to the end.</param>
    /// <exception cref="InputException">The file cannot be used; the message says why in one line.</exception>
    /// <exception cref="OperationCanceledException"/>
    public static LoadedSound Load(string path, IProgress<double>? progress = null, CancellationToken cancel = default)
    {
        string sha256 = Hash(path, progress, cancel);
        Pass first = Decode(path, null, progress, cancel);
        if (first.Cancelled)
        {
            first.Sound.Dispose();
            int loudest = Array.IndexOf(first.ChannelEnergy, first.ChannelEnergy.Max());
            first = Decode(path, loudest, progress, cancel);
            first.Doubts.Add(new ChannelsCancel(loudest + 1));
        }

        progress?.Report(1.0);
        var info = new SoundInfo(
            Path.GetFileName(path), (double)first.Frames / first.SampleRate, first.SampleRate, first.ChannelEnergy.Length, sha256, first.Format, first.Doubts);
        return new LoadedSound(first.Sound, info);
    }

    /// <summary>
    /// A passage for playing, at the file's own rate: mono on both sides, surround mixed down. It lies in
    /// memory (8 bytes a frame), so give a passage of a long recording rather than all of it.
    /// </summary>
    /// <param name="from">Null = the start.</param>
    /// <param name="to">Null = the end; beyond the end is the end.</param>
    /// <exception cref="InputException">The file cannot be used, or the passage lies outside it.</exception>
    public static StereoSound LoadStereo(string path, AudioTime? from = null, AudioTime? to = null)
    {
        using DecodedSound reader = SoundFile.OpenDecoded(path);
        int rate = reader.SampleRate;
        int channels = reader.Channels;
        long first = Math.Max(0, (long)Math.Round((from ?? AudioTime.Zero).ToSample(rate)));
        long last = to is { } end ? (long)Math.Round(end.ToSample(rate)) : long.MaxValue;
        if (last <= first)
            throw new InputException($"The passage ends at {to} but starts at {from ?? AudioTime.Zero}.");
        long passed = reader.Skip(first);
        (float Left, float Right)[] shares = ChannelMix.StereoShares(channels);
        var left = new List<float>();
        var right = new List<float>();
        float[] buffer = new float[FramesAtOnce * channels];
        while (first + left.Count < last)
        {
            int wanted = (int)Math.Min(FramesAtOnce, last - first - left.Count);
            int got = reader.Read(buffer.AsSpan(0, wanted * channels));
            if (got == 0)
                break;
            int frames = got / channels, at = left.Count;
            CollectionsMarshal.SetCount(left, at + frames);
            CollectionsMarshal.SetCount(right, at + frames);
            Mix(buffer.AsSpan(0, got), shares, CollectionsMarshal.AsSpan(left)[at..], CollectionsMarshal.AsSpan(right)[at..]);
        }

        if (left.Count == 0)
        {
            throw new InputException(first > 0
                ? FormattableString.Invariant($"The passage starts at {(double)first / rate:0.0} s, but {Path.GetFileName(path)} is only {(double)passed / rate:0.0} s long.")
                : $"{Path.GetFileName(path)} holds no samples; the recording or the export was empty.");
        }

        return new StereoSound([.. left], [.. right], rate);
    }

    /// <summary>Frames of any number of channels to two; each channel's share of left and right.</summary>
    private static void Mix(ReadOnlySpan<float> frames, (float Left, float Right)[] shares, Span<float> left, Span<float> right)
    {
        for (int i = 0, at = 0; i < left.Length; i++)
        {
            (float l, float r) = (0, 0);
            foreach ((float toLeft, float toRight) in shares)
            {
                l += toLeft * frames[at];
                r += toRight * frames[at++];
            }

            left[i] = l;
            right[i] = r;
        }
    }

    /// <summary>One pass over the file.</summary>
    private sealed record Pass(
        MonoSound Sound, long Frames, int SampleRate, string Format, List<Doubt> Doubts, double MonoEnergy, double[] ChannelEnergy)
    {
        public bool Cancelled =>
            ChannelEnergy.Length > 1 && ChannelEnergy.Max() > 0 && MonoEnergy < CancelledShare * ChannelEnergy.Average();
    }

    /// <param name="only">The one channel to take; null = the average of all.</param>
    private static Pass Decode(string path, int? only, IProgress<double>? progress, CancellationToken cancel)
    {
        using DecodedSound reader = SoundFile.OpenDecoded(path);
        int channels = reader.Channels;
        using var store = new MonoStore(MonoSound.AnalysisRate);
        StreamingResampler? resampler = reader.SampleRate == MonoSound.AnalysisRate ? null : new StreamingResampler(reader.SampleRate, MonoSound.AnalysisRate);
        float[] buffer = new float[FramesAtOnce * channels];
        float[] mono = new float[FramesAtOnce];
        Action<ReadOnlySpan<float>> append = store.Append;
        double monoEnergy = 0;
        double[] channelEnergy = new double[channels];
        long frames = 0;
        while (reader.Read(buffer) is > 0 and int got)
        {
            cancel.ThrowIfCancellationRequested();
            Span<float> mixed = mono.AsSpan(0, got / channels);
            if (only is { } channel)
                ChannelMix.Pick(buffer.AsSpan(0, got), channels, channel, mixed);
            else
                ChannelMix.Average(buffer.AsSpan(0, got), channels, mixed);
            monoEnergy += System.Numerics.Tensors.TensorPrimitives.SumOfSquares<float>(mixed);
            AddEnergy(buffer.AsSpan(0, got), channels, mixed, channelEnergy);
            if (resampler is null)
                store.Append(mixed);
            else
                resampler.Push(mixed, append);
            frames += got / channels;
            store.Expect(reader.Progress);
            progress?.Report(ShareOfHashing + ((1 - ShareOfHashing) * Math.Clamp(reader.Progress, 0, 1)));
        }

        if (frames == 0)
            throw new InputException($"{Path.GetFileName(path)} holds no samples; the recording or the export was empty.");
        resampler?.Finish(append);
        return new Pass(store.ToSound(), frames, reader.SampleRate, reader.Format, [.. reader.Doubts], monoEnergy, channelEnergy);
    }

    private static void AddEnergy(ReadOnlySpan<float> interleaved, int channels, ReadOnlySpan<float> mono, double[] energy)
    {
        if (channels == 1)
        {
            energy[0] += System.Numerics.Tensors.TensorPrimitives.SumOfSquares(mono);
            return;
        }

        if (channels == 2)
        {
            AddStereoEnergy(interleaved, energy);
            return;
        }

        for (int channel = 0; channel < channels; channel++)
        {
            double sum = 0;
            for (int i = channel; i < interleaved.Length; i += channels)
                sum += interleaved[i] * interleaved[i];
            energy[channel] += sum;
        }
    }

    /// <summary>Lanes of a vector alternate between left and right as the samples do.</summary>
    private static void AddStereoEnergy(ReadOnlySpan<float> interleaved, double[] energy)
    {
        Vector<float> squares = Vector<float>.Zero;
        int i = 0;
        for (; i + Vector<float>.Count <= interleaved.Length; i += Vector<float>.Count)
        {
            var samples = new Vector<float>(interleaved[i..]);
            squares += samples * samples;
        }

        for (int lane = 0; lane < Vector<float>.Count; lane++)
            energy[lane % 2] += squares[lane];
        for (; i < interleaved.Length; i++)
            energy[i % 2] += interleaved[i] * interleaved[i];
    }

    private static string Hash(string path, IProgress<double>? progress, CancellationToken cancel)
    {
        using FileStream stream = SoundFile.OpenFile(path, Path.GetFileName(path));
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        byte[] buffer = new byte[1 << 20];
        while (stream.Read(buffer) is > 0 and int got)
        {
            cancel.ThrowIfCancellationRequested();
            hash.AppendData(buffer, 0, got);
            progress?.Report(ShareOfHashing * stream.Position / Math.Max(1, stream.Length));
        }

        return Convert.ToHexStringLower(hash.GetHashAndReset());
    }
}
