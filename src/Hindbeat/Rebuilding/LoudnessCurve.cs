namespace Hindbeat.Rebuilding;

/// <summary>How loud a piece is at a velocity: a straight line over the velocity's logarithm.</summary>
/// <param name="FullDb">Loudness at velocity 127, dB (see <see cref="KitSample.LoudnessDb"/>).</param>
/// <param name="DecibelsPerDecade">Decibels for a tenfold velocity, above 0.</param>
public readonly record struct LoudnessCurve(double FullDb, double DecibelsPerDecade)
{
    /// <param name="velocity">In (0, 127].</param>
    public double At(double velocity) => FullDb + (DecibelsPerDecade * Math.Log10(velocity / 127));
}
