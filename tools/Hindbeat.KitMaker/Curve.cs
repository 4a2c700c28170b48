using Hindbeat.Performances;
using Hindbeat.Rebuilding;

namespace Hindbeat.KitMaker;

/// <summary>How steeply loudness follows velocity on this kit, to choose the engine's one curve by.</summary>
internal static class Curve
{
    /// <summary>
    /// Least squares of loudness over log10(velocity), each recorded piece with its own height and all
    /// with one slope; layer k of n stands for velocity 127·k/n, its band's upper end.
    /// </summary>
    public static double DecibelsPerDecade(Kit kit)
    {
        double xy = 0;
        double xx = 0;
        foreach (KitPiece piece in kit.Pieces)
        {
            KitSample[] strokes = [.. kit.StrokesOf(piece).Where(sample => sample.Origin == SampleOrigin.Recorded)];
            if (strokes.Length < 2)
                continue;
            double[] x = [.. strokes.Select(sample => Math.Log10(127.0 * sample.Layer / strokes.Length))];
            double meanX = x.Average();
            double meanY = strokes.Average(sample => sample.LoudnessDb);
            for (int i = 0; i < x.Length; i++)
            {
                xy += (x[i] - meanX) * (strokes[i].LoudnessDb - meanY);
                xx += (x[i] - meanX) * (x[i] - meanX);
            }
        }

        return xy / xx;
    }
}
