namespace Hindbeat.Pulses;

/// <summary>
/// The twelve places of a beat where strokes are usually written: multiples of 1/8 and of 1/6. Used to compare
/// readings of a passage, not to write it down.
/// </summary>
/// <remarks>
/// A stroke goes to the slot that explains it best, not to the nearest: 1/6 and 1/8 lie 21 ms apart at 120 bpm, less than
/// a drummer scatters, and a nearest slot would fill rare ones with loose sixteenths (that made half of a tempo win nearly always).
/// </remarks>
internal sealed class BarSlots
{
    public const int PerBeat = 12;

    /// <summary>Scatter of a stroke about its slot, seconds; wider than a drummer's jitter because swing is not yet known.</summary>
    private const double StrokeScatter = 0.014;

    /// <summary>Share of strokes that are anywhere: flams, rolls, mishearings.</summary>
    private const double StrayShare = 0.1;

    /// <summary>
    /// Their density, a second. The same for all readings: were it spread over the slot, fast readings with their
    /// short slots would gain by each loose stroke.
    /// </summary>
    private const double StrayDensity = 1.5;

    private const int Cells = 384;

    private static readonly double[] Places = [0, 1.0 / 8, 1.0 / 6, 1.0 / 4, 1.0 / 3, 3.0 / 8, 1.0 / 2, 5.0 / 8, 2.0 / 3, 3.0 / 4, 5.0 / 6, 7.0 / 8, 1];

    /// <summary>ln of how usual a slot is: beats and halves, quarters, thirds, the rest (our judgement).</summary>
    private static readonly double[] Usual = [0, -4, -4, -0.7, -2, -4, 0, -4, -2, -0.7, -4, -4, 0];

    private readonly int[] _slot = new int[Cells];
    private readonly double[] _log = new double[Cells];

    public BarSlots(double beatSeconds)
    {
        double scatter = StrokeScatter / beatSeconds;
        double peak = (1 - StrayShare) / (StrokeScatter * Math.Sqrt(2 * Math.PI));
        for (int cell = 0; cell < Cells; cell++)
        {
            double within = (cell + 0.5) / Cells;
            double top = double.NegativeInfinity;
            for (int s = 0; s <= PerBeat; s++)
            {
                double z = (within - Places[s]) / scatter;
                double value = Usual[s] - (0.5 * z * z);
                if (value > top)
                {
                    top = value;
                    _slot[cell] = s;
                }
            }

            double deviation = (within - Places[_slot[cell]]) / scatter;
            _log[cell] = Math.Log(StrayDensity + (peak * Math.Exp(-0.5 * deviation * deviation)));
        }
    }

    /// <summary>Mean of the log density over the beat: what strokes that fall anywhere reach.</summary>
    public double Anywhere => _log.Average();

    /// <summary>The slot of a place in beats (whole beats × 12 + slot), and ln of the density of its time about the slot, a second.</summary>
    public (long Slot, double LogDensity) Find(double beats)
    {
        double whole = Math.Floor(beats);
        int cell = Math.Min(Cells - 1, (int)((beats - whole) * Cells));
        return (((long)whole * PerBeat) + _slot[cell], _log[cell]);
    }
}
