namespace Hindbeat.Feel;

/// <summary>Counts, sums and squares by cell and block, from which the sum of squares around the cell means is known without any block.</summary>
internal sealed class SumsByCell(int blocks)
{
    private readonly Dictionary<int, int> _index = [];
    private readonly List<(double N, double Sum, double Squares)[]> _cells = [];
    private double _origin = double.NaN;

    public void Add(int cell, int block, double value)
    {
        if (!_index.TryGetValue(cell, out int index))
        {
            _index[cell] = index = _cells.Count;
            _cells.Add(new (double, double, double)[blocks]);
        }

        // Squares of values far from zero would lose digits.
        if (double.IsNaN(_origin))
            _origin = value;
        value -= _origin;
        ref (double N, double Sum, double Squares) entry = ref _cells[index][block];
        entry = (entry.N + 1, entry.Sum + value, entry.Squares + (value * value));
    }

    /// <summary>Σ over cells of Σ(x − mean)², and the strokes left over once each cell's mean is paid.</summary>
    public (double Squares, double Evidence) Within(int left)
    {
        double squares = 0, evidence = 0;
        foreach ((double N, double Sum, double Squares)[] cell in _cells)
        {
            double n = 0, sum = 0, square = 0;
            for (int b = 0; b < cell.Length; b++)
            {
                if (b == left)
                    continue;
                (n, sum, square) = (n + cell[b].N, sum + cell[b].Sum, square + cell[b].Squares);
            }

            if (n > 1)
            {
                squares += Math.Max(0, square - (sum * sum / n));
                evidence += n - 1;
            }
        }

        return (squares, evidence);
    }

    /// <summary>How much evidence each block brings: a stroke counts 1 − 1/n of its cell.</summary>
    public double[] EvidenceByBlock()
    {
        double[] shares = new double[blocks];
        foreach ((double N, double Sum, double Squares)[] cell in _cells)
        {
            double n = cell.Sum(entry => entry.N);
            for (int b = 0; b < blocks && n > 1; b++)
                shares[b] += cell[b].N * (1 - (1 / n));
        }

        return shares;
    }
}
