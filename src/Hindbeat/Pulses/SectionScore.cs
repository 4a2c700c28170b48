using System.Numerics.Tensors;

namespace Hindbeat.Pulses;

/// <summary>
/// How much sections of a few bars look like known kinds of groove, each section on its own: Σ over sections of
/// ln Σ_k share_k · Π p^n (1−p)^(N−n). Where <see cref="ProfileScore"/> lets the passage teach its own habit and then
/// hardly minds where the bar line lies, this keeps asking, section by section, whether a bar that starts here looks like one.
/// </summary>
internal sealed class SectionScore
{
    public const int BarsPerSection = 4;

    /// <summary>Bars of a section resemble each other; four of them are worth about two independent ones (as in training).</summary>
    private const double BarWorth = 0.5;

    /// <summary>A kind of groove is played at any tempo within some 12 %, however few takes show it.</summary>
    private const double LeastSpread = 0.12;

    private const double Elsewhere = 0.1;

    private readonly BarProfiles _profiles;
    /// <summary>[cell]: ln p/(1 − p), one a kind.</summary>
    private readonly double[][] _logits;

    /// <summary>[slot]: the cost of silence in all voices before that slot, one a kind; the last is the whole bar's.</summary>
    private readonly double[][] _silence;

    private readonly double[] _logShares;

    public SectionScore(BarProfiles profiles)
    {
        _profiles = profiles;
        _logShares = [.. profiles.Shares.Select(share => Math.Log(share))];
        double[][] chances = profiles.Chances;
        _logits = [.. Enumerable.Range(0, chances[0].Length).Select(cell => chances.Select(kind => Math.Log(kind[cell] / (1 - kind[cell]))).ToArray())];
        _silence = [.. Enumerable.Range(0, profiles.Slots + 1).Select(_ => new double[chances.Length])];
        for (int slot = 0; slot < profiles.Slots; slot++)
        {
            for (int k = 0; k < chances.Length; k++)
            {
                _silence[slot + 1][k] = _silence[slot][k];
                for (int voice = 0; voice < StrokeTrain.Voices; voice++)
                    _silence[slot + 1][k] += Math.Log(1 - chances[k][(voice * profiles.Slots) + slot]);
            }
        }
    }

    /// <param name="slots">Each stroke's slot counted from a downbeat, as <see cref="BarCounts.SlotOf"/>.</param>
    /// <param name="logBpm">ln of the reading's tempo.</param>
    /// <returns>ln of the likeness, and ln of the density of the tempo among the kinds that the sections look like.</returns>
    public (double Likeness, double Tempo) Of(StrokeTrain strokes, long[] slots, double logBpm)
    {
        double[] belongs = new double[_profiles.Shares.Length];
        int perBar = _profiles.Slots;
        long perSection = (long)perBar * BarsPerSection;
        double total = 0;
        double[] logs = new double[_profiles.Shares.Length];
        long firstSlot = slots[0];
        long lastSlot = slots[^1];
        for (int i = 0; i < slots.Length;)
        {
            long start = FloorDivide(slots[i], perBar) * perBar;
            if (i > 0)
                start = Math.Max(start, firstSlot);
            long end = start + perSection;
            Silence(logs, Math.Max(start, firstSlot), Math.Min(end, lastSlot + 1));
            int j = i;
            for (; j < slots.Length && slots[j] < end; j++)
            {
                int cell = ((int)strokes.VoiceOf[j] * perBar) + (int)(slots[j] - (FloorDivide(slots[j], perBar) * perBar));
                TensorPrimitives.Add(logs, _logits[cell], logs);
            }

            TensorPrimitives.MultiplyAdd(logs, BarWorth, _logShares, logs);
            double top = TensorPrimitives.Max<double>(logs);
            TensorPrimitives.Subtract(logs, top, logs);
            TensorPrimitives.Exp<double>(logs, logs);
            double sum = TensorPrimitives.Sum<double>(logs);
            total += top + Math.Log(sum);
            TensorPrimitives.MultiplyAdd(logs, 1 / sum, belongs, belongs);
            i = Math.Max(j, i + 1);
        }

        return (total, TempoAmong(belongs, logBpm));
    }

    private double TempoAmong(double[] belongs, double logBpm)
    {
        double all = belongs.Sum();
        // A tenth for a kind's tempo that the data do not hold.
        double density = Elsewhere / 1.5;
        for (int k = 0; k < belongs.Length; k++)
        {
            (double mean, double spread) = _profiles.Tempi[k];
            spread = Math.Max(spread, LeastSpread);
            double z = (logBpm - mean) / spread;
            density += (1 - Elsewhere) * belongs[k] / all * Math.Exp(-0.5 * z * z) / (spread * Math.Sqrt(2 * Math.PI));
        }

        return Math.Log(density);
    }

    private void Silence(double[] logs, long from, long to)
    {
        if (to <= from)
        {
            Array.Clear(logs);
            return;
        }

        int perBar = _profiles.Slots;
        long barFrom = FloorDivide(from, perBar);
        long barTo = FloorDivide(to, perBar);
        TensorPrimitives.Multiply(_silence[perBar], barTo - barFrom, logs);
        TensorPrimitives.Subtract(logs, _silence[from - (barFrom * perBar)], logs);
        TensorPrimitives.Add(logs, _silence[to - (barTo * perBar)], logs);
    }

    private static long FloorDivide(long a, long b) => (a / b) - (a % b < 0 ? 1 : 0);
}
