using System.Numerics.Tensors;

namespace Hindbeat.Pulses;

/// <summary>
/// ln Γ(a + n)/Γ(a) of every kind of groove for the first <see cref="MostBars"/> bars, so that thousands of readings of a passage are
/// compared by adding rows instead of by computing gamma functions.
/// </summary>
internal sealed class MarginalTables
{
    /// <summary>κ: the profile's guess weighs as much as this many bars.</summary>
    public const double GuessWeight = 5;

    /// <summary>Two minutes at most tempi; longer passages are computed.</summary>
    private const int MostBars = 64;

    private readonly double[][] _chances;
    private readonly int _slots;
    private readonly double[][] _struck;
    private readonly double[][] _missed;
    private readonly double[][] _silent;

    /// <param name="chances">[kind][voice × slots + slot]</param>
    public MarginalTables(double[][] chances, int slots)
    {
        _chances = chances;
        _slots = slots;
        int cells = chances[0].Length;
        _struck = new double[cells][];
        _missed = new double[cells][];
        for (int cell = 0; cell < cells; cell++)
        {
            _struck[cell] = Rising(chances, cell, p => GuessWeight * p);
            _missed[cell] = Rising(chances, cell, p => GuessWeight * (1 - p));
        }

        _silent = new double[slots][];
        for (int slot = 0; slot < slots; slot++)
        {
            _silent[slot] = new double[(MostBars + 1) * Kinds];
            for (int cell = slot; cell < cells; cell += slots)
                TensorPrimitives.Add(_silent[slot], _missed[cell], _silent[slot]);
        }
    }

    private int Kinds => _chances.Length;

    /// <summary>Adds ln of the marginal likelihood of all cells to each kind's sum.</summary>
    public void AddTo(Span<double> logs, BarCounts counts)
    {
        for (int slot = 0; slot < _slots; slot++)
        {
            int bars = counts.Bars[slot];
            if (bars <= MostBars)
                TensorPrimitives.Add(logs, _silent[slot].AsSpan(bars * Kinds, Kinds), logs);
            int voices = _struck.Length / _slots;
            double whole = voices * (LogGamma.Of(GuessWeight) - LogGamma.Of(GuessWeight + bars));
            for (int k = 0; k < logs.Length; k++)
                logs[k] += whole;
        }

        for (int cell = 0, slot = 0; cell < _struck.Length; cell++, slot++)
        {
            if (slot == _slots)
                slot = 0;
            int bars = counts.Bars[slot];
            int struck = counts.Struck[cell];
            if (bars > MostBars)
            {
                for (int k = 0; k < logs.Length; k++)
                    logs[k] += Computed(_chances[k][cell], struck, bars);
            }
            else if (struck > 0)
            {
                TensorPrimitives.Add(logs, _struck[cell].AsSpan(struck * Kinds, Kinds), logs);
                TensorPrimitives.Add(logs, _missed[cell].AsSpan((bars - struck) * Kinds, Kinds), logs);
                TensorPrimitives.Subtract(logs, _missed[cell].AsSpan(bars * Kinds, Kinds), logs);
            }
        }
    }

    private static double Computed(double p, int struck, int bars)
    {
        double a = GuessWeight * p;
        double b = GuessWeight * (1 - p);
        double missed = LogGamma.Of(b + bars - struck) - LogGamma.Of(b);
        return struck == 0 ? missed : missed + LogGamma.Of(a + struck) - LogGamma.Of(a);
    }

    /// <summary>[n × kinds + kind]: Σ ln(a + i) over i below n.</summary>
    private static double[] Rising(double[][] chances, int cell, Func<double, double> weight)
    {
        double[] rows = new double[(MostBars + 1) * chances.Length];
        for (int k = 0; k < chances.Length; k++)
        {
            double a = weight(chances[k][cell]);
            for (int n = 1; n <= MostBars; n++)
                rows[(n * chances.Length) + k] = rows[((n - 1) * chances.Length) + k] + Math.Log(a + n - 1);
        }

        return rows;
    }
}
