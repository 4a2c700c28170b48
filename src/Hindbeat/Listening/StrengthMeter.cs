using System.Numerics.Tensors;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Listening;

/// <summary>
/// Onset strength: how much the log-compressed amplitude of each band rises over two frames, after each
/// band has been brought to the same scale (adaptive whitening), so that a hat counts as much as a kick
/// and a soft passage as much as a loud one.
/// </summary>
/// <remarks>
/// s = max(0, L[i] − L[i−2]), L = ln(1 + 60·a/w), a = √power, w = the band's recent peak. After J. Bello et
/// al., A tutorial on onset detection in music signals, IEEE TSAP 13(5), 2005, and D. Stowell, M. Plumbley,
/// Adaptive whitening for improved real-time audio onset detection, ICMC 2007 (both from memory). Where we
/// differ: the recent peak is followed backwards in time as well, so that the first bars are not too loud.
/// </remarks>
internal static class StrengthMeter
{
    /// <summary>Compression: strokes down to 1/60 (−36 dB) of the loudest still give a clear rise.</summary>
    private const float Compression = 60f;

    /// <summary>Seconds in which the followed peak falls to 1/e: longer than a bar, so that a backbeat still scales the ghosts after it.</summary>
    private const double PeakSeconds = 6.0;

    /// <summary>A band is never raised by more than this below the passage's own peak (amplitude): hiss is no stroke.</summary>
    private const float BandFloor = 0.03f;

    /// <summary>Nor by more than this below the loudest band: 70 dB down lies what a good recording's noise and leakage leave.</summary>
    private const float SoundFloor = 3e-4f;

    /// <summary>Rise is taken over two frames: one window's half, so that a stroke gives one peak.</summary>
    private const int Lag = 2;

    /// <summary>First analysis band of each strength band, and one past the last: near 43, 108, 194, 345, 770, 1,400, 3,000, 6,000, 12,000 Hz.</summary>
    private static readonly int[] Groups = [0, 2, 4, 6, 8, 11, 13, 15, 18, 21];

    public static OnsetStrength Measure(BandPowers powers)
    {
        int frames = powers.Frames;
        float loudest = 0;
        for (int i = 0; i < frames; i++)
            loudest = Math.Max(loudest, TensorPrimitives.Max(powers.At(i)));
        float floor = MathF.Sqrt(loudest) * SoundFloor;

        float[][] strength = new float[Groups.Length - 1][];
        float[] level = new float[frames];
        float[] peak = new float[frames];
        for (int group = 0; group < strength.Length; group++)
        {
            float[] sum = strength[group] = new float[frames];
            for (int band = Groups[group]; band < Groups[group + 1]; band++)
            {
                for (int i = 0; i < frames; i++)
                    level[i] = MathF.Sqrt(powers.At(i)[band]);
                FollowPeaks(level, peak, floor);
                Compress(level, peak);
                AddRises(level, sum, 1f / (Groups[group + 1] - Groups[group]));
            }
        }

        return new OnsetStrength(AudioTime.FromSample(powers.FirstSample, MonoSound.AnalysisRate), BandPowers.FrameRate, strength);
    }

    private static void FollowPeaks(float[] level, float[] peak, float floor)
    {
        float keep = (float)Math.Exp(-1.0 / (PeakSeconds * BandPowers.FrameRate));
        floor = Math.Max(floor, TensorPrimitives.Max<float>(level) * BandFloor);
        float recent = floor;
        for (int i = 0; i < level.Length; i++)
            peak[i] = recent = Math.Max(Math.Max(level[i], recent * keep), floor);
        for (int i = level.Length - 1; i >= 0; i--)
            peak[i] = recent = Math.Max(peak[i], recent * keep);
    }

    private static void Compress(float[] level, float[] peak)
    {
        // A wholly silent sound has a peak of 0; its level stays 0.
        for (int i = 0; i < level.Length; i++)
            level[i] = peak[i] > 0 ? level[i] / peak[i] * Compression : 0;
        TensorPrimitives.LogP1(level, level);
    }

    private static void AddRises(float[] level, float[] sum, float weight)
    {
        for (int i = 0; i < level.Length; i++)
        {
            float before = i < Lag ? 0 : level[i - Lag];
            sum[i] += weight * Math.Max(0, level[i] - before);
        }
    }
}
