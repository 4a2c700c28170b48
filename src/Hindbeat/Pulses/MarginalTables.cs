using System.Numerics.Tensors;

namespace Hindbeat.Pulses;

/// <summary>
/// What folded bars are worth to every kind of groove (the formula is <see cref="ProfileScore"/>'s), so that thousands of readings of a passage
/// are compared by adding rows instead of by computing gamma functions.
/// </summary>
internal sealed class MarginalTables
{
    /// <summary>κ: the profile's guess weighs as much as this many bars.</summary>
    public const double GuessWeight = 5;

    private readonly RisingRows[] _struck;
    private readonly RisingRows[] _missed;

    /// <summary>[slot]: all voices missed.</summary>
    private readonly RisingRows[] _silent;

    private readonly RisingRows _whole = RisingRows.Of([GuessWeight]);

    /// <param name="chances">[kind][voice × slots + slot]</param>
    public MarginalTables(double[][] chances, int slots)
    {
        RisingRows Rows(int cell, Func<double, double> share) => RisingRows.Of([.. chances.Select(kind => GuessWeight * share(kind[cell]))]);
        int cells = chances[0].Length;
        _struck = [.. Enumerable.Range(0, cells).Select(cell => Rows(cell, p => p))];
        _missed = [.. Enumerable.Range(0, cells).Select(cell => Rows(cell, p => 1 - p))];
        _silent = [.. Enumerable.Range(0, slots).Select(slot => RisingRows.Sum([.. Enumerable.Range(0, cells / slots).Select(voice => _missed[(voice * slots) + slot])]))];
    }

    /// <summary>Adds ln of the marginal likelihood of all cells to each kind's sum.</summary>
    public void AddTo(Span<double> logs, BarCounts counts)
    {
        Span<double> whole = [0.0];
        for (int slot = 0; slot < _silent.Length; slot++)
        {
            _silent[slot].AddTo(logs, counts.Bars[slot]);
            _whole.AddTo(whole, counts.Bars[slot]);
        }

        int voices = _struck.Length / _silent.Length;
        TensorPrimitives.Add(logs, -voices * whole[0], logs);
        for (int cell = 0, slot = 0; cell < _struck.Length; cell++, slot++)
        {
            if (slot == _silent.Length)
                slot = 0;
            int struck = counts.Struck[cell];
            if (struck == 0)
                continue;
            int bars = counts.Bars[slot];
            _struck[cell].AddTo(logs, struck);
            _missed[cell].AddTo(logs, bars - struck);
            _missed[cell].AddTo(logs, bars, -1);
        }
    }
}
