using System.Numerics;
using System.Numerics.Tensors;

namespace Hindbeat.Pulses;

/// <summary>
/// ln Γ(a + n)/Γ(a) for one number a of each kind of groove, as rows over kinds: summed for n up to <see cref="Tabled"/>, beyond by the
/// expansion of ln Γ(n + a)/Γ(n) in 1/n (F. Tricomi and A. Erdélyi, Pacific J. Math. 1, 1951; stated from memory), whose error
/// for a up to 5 is below 1e-5 there.
/// </summary>
internal sealed class RisingRows
{
    /// <summary>Bars whose sums are kept: two minutes at most tempi.</summary>
    public const int Tabled = 64;

    /// <summary>ln Γ(n) and ln n; two thousand bars are an hour at most tempi.</summary>
    private static readonly (double LogGamma, double Log)[] Whole = [.. Enumerable.Range(0, 2048).Select(n => n == 0 ? default : (LogGamma.Of(n), Math.Log(n)))];

    private readonly int _kinds;

    /// <summary>[n × kinds + kind]</summary>
    private readonly double[] _sums;

    /// <summary>Of the value beyond the table: what does not depend on n, and what goes with ln n, 1/n, 1/n², 1/n³.</summary>
    private readonly double[][] _far;

    /// <summary>How many rows were added up; each holds ln Γ(n) once.</summary>
    private readonly int _count;

    private RisingRows(int kinds, double[] sums, double[][] far, int count) => (_kinds, _sums, _far, _count) = (kinds, sums, far, count);

    /// <param name="a">Above 0, one a kind.</param>
    public static RisingRows Of(double[] a)
    {
        int kinds = a.Length;
        double[] sums = new double[(Tabled + 1) * kinds];
        double[][] far = [.. Enumerable.Range(0, 5).Select(_ => new double[kinds])];
        for (int k = 0; k < kinds; k++)
        {
            for (int n = 1; n <= Tabled; n++)
                sums[(n * kinds) + k] = sums[((n - 1) * kinds) + k] + Math.Log(a[k] + n - 1);
            double x = a[k];
            far[1][k] = x;
            far[2][k] = x * (x - 1) / 2;
            far[3][k] = -x * (x - 1) * ((2 * x) - 1) / 12;
            far[4][k] = x * x * (x - 1) * (x - 1) / 12;
            far[0][k] = sums[(Tabled * kinds) + k] - LogGamma.Of(Tabled) - (x * Math.Log(Tabled)) - (far[2][k] / Tabled) - (far[3][k] / (Tabled * Tabled)) - (far[4][k] / (Tabled * Tabled * Tabled));
        }

        return new RisingRows(kinds, sums, far, 1);
    }

    public static RisingRows Sum(IReadOnlyList<RisingRows> rows)
    {
        double[] Added(Func<RisingRows, double[]> part)
        {
            double[] sum = new double[part(rows[0]).Length];
            foreach (RisingRows row in rows)
                TensorPrimitives.Add(sum, part(row), sum);
            return sum;
        }

        return new RisingRows(rows[0]._kinds, Added(row => row._sums), [.. Enumerable.Range(0, 5).Select(i => Added(row => row._far[i]))], rows.Sum(row => row._count));
    }

    /// <summary>Adds the values for n to each kind's sum, times 1 or −1.</summary>
    public void AddTo(Span<double> logs, int n, double times = 1)
    {
        if (n <= Tabled)
        {
            TensorPrimitives.MultiplyAdd(_sums.AsSpan(n * _kinds, _kinds), times, logs, logs);
            return;
        }

        double inverse = 1.0 / n;
        (double logGamma, double log) = n < Whole.Length ? Whole[n] : (LogGamma.Of(n), Math.Log(n));
        double constant = _count * logGamma;
        double third = inverse * inverse * inverse;
        int k = 0;
        for (; k <= logs.Length - Vector<double>.Count; k += Vector<double>.Count)
        {
            Vector<double> value = new Vector<double>(constant) + Part(0) + (Part(1) * log) + (Part(2) * inverse) + (Part(3) * inverse * inverse) + (Part(4) * third);
            (new Vector<double>(logs[k..]) + (value * times)).CopyTo(logs[k..]);
        }

        for (; k < logs.Length; k++)
            logs[k] += times * (constant + _far[0][k] + (_far[1][k] * log) + (_far[2][k] * inverse) + (_far[3][k] * inverse * inverse) + (_far[4][k] * third));

        Vector<double> Part(int i) => new(_far[i], k);
    }
}
