using System.Runtime.InteropServices;

namespace Hindbeat.Sound;

/// <summary>
/// Integrated loudness of a stereo stream in LUFS (= LKFS) by ITU-R BS.1770: K-weighted power in blocks
/// of 400 ms with 75 % overlap, gated at −70 LKFS and then at 10 LU under the mean of what is left.
/// </summary>
/// <remarks>
/// Feed it block by block; it keeps one number per 100 ms (288 KB an hour). A full-scale 997 Hz sine in
/// one channel reads −3.01 LKFS. A mono sound is fed as its one channel with an empty right side.
/// </remarks>
public sealed class LoudnessMeter
{
    private const double AbsoluteGateLufs = -70;
    private const double RelativeGateLu = -10;
    private const double OffsetDb = -0.691;

    /// <summary>A block is four steps of 100 ms: 400 ms long, 75 % overlap.</summary>
    private const int StepsPerBlock = 4;

    private readonly KWeighting _left;
    private readonly KWeighting _right;
    private readonly int _stepFrames;
    private readonly List<double> _stepPowers = [];
    private double _sum;
    private int _inStep;

    public LoudnessMeter(int sampleRate)
    {
        _left = new KWeighting(sampleRate);
        _right = new KWeighting(sampleRate);
        _stepFrames = (int)Math.Round(sampleRate / 10.0);
    }

    /// <summary>Adds the next frames; <paramref name="right"/> is as long as <paramref name="left"/>, or empty for mono.</summary>
    public void Add(ReadOnlySpan<float> left, ReadOnlySpan<float> right)
    {
        if (right.Length != left.Length && !right.IsEmpty)
            throw new ArgumentException("Both channels must be equally long, or the right one empty.", nameof(right));
        while (!left.IsEmpty)
        {
            int take = Math.Min(left.Length, _stepFrames - _inStep);
            _sum += _left.SumOfSquares(left[..take]);
            left = left[take..];
            if (!right.IsEmpty)
            {
                _sum += _right.SumOfSquares(right[..take]);
                right = right[take..];
            }

            _inStep += take;
            if (_inStep == _stepFrames)
            {
                _stepPowers.Add(_sum / _stepFrames);
                (_sum, _inStep) = (0, 0);
            }
        }
    }

    /// <summary>
    /// Loudness of all that was added, LUFS. Negative infinity when there was less than 400 ms of sound
    /// or nothing above the absolute gate: such a sound has no integrated loudness.
    /// </summary>
    public double IntegratedLufs()
    {
        double absolute = MeanAbove(PowerOf(AbsoluteGateLufs));
        return absolute <= 0 ? double.NegativeInfinity : LufsOf(MeanAbove(PowerOf(Math.Max(AbsoluteGateLufs, LufsOf(absolute) + RelativeGateLu))));
    }

    private double MeanAbove(double gate)
    {
        double sum = 0;
        int blocks = 0;
        ReadOnlySpan<double> steps = CollectionsMarshal.AsSpan(_stepPowers);
        for (int i = 0; i + StepsPerBlock <= steps.Length; i++)
        {
            double power = (steps[i] + steps[i + 1] + steps[i + 2] + steps[i + 3]) / StepsPerBlock;
            if (power > gate)
            {
                sum += power;
                blocks++;
            }
        }

        return blocks == 0 ? 0 : sum / blocks;
    }

    private static double LufsOf(double power) => OffsetDb + (10 * Math.Log10(power));

    private static double PowerOf(double lufs) => Math.Pow(10, (lufs - OffsetDb) / 10);
}
