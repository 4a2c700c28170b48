using Hindbeat.Performances;

namespace Hindbeat.Feel;

/// <summary>
/// The one model behind every timing figure: deviation of a stroke = slow curve + mean of its group +
/// spread. A group is a piece at one role (pair starts, off 8ths, off 16ths); lay-back is the mean of a
/// piece's starts against the reference's, swing the mean of its off-beats against its own starts. Means
/// and curve are fitted in turn by Tukey's biweight from median starts, weighted by confidence.
/// </summary>
/// <remarks>
/// Group means rather than separate swing and lay-back parameters: the model is the same, what cannot be
/// told apart stays visibly a sum, and a bar can be left out of a mean in a few additions.
/// All values in seconds, positive = late.
/// </remarks>
internal sealed class FeelModel
{
    /// <summary>No piece's timing is taken to be tighter than this: below it a scale of zero would throw away every other stroke.</summary>
    private const double SmallestScale = 0.0005;

    private const int Roles = 4;
    private const int Rounds = 12;

    private readonly StrokeTable _table;
    private readonly bool[] _merged;
    private readonly double[] _mean;
    private readonly double[] _slope;
    private readonly double[,] _slopeOf;
    private readonly double[,] _pullOf;
    private readonly double[,] _countOf;
    private readonly double[] _count;
    private readonly double[] _beatLength;
    private readonly int[] _strokes;
    private readonly double[] _scale;
    private readonly double[] _free;

    private FeelModel(StrokeTable table, bool[] merged)
    {
        _table = table;
        _merged = merged;
        int groups = KitPieces.All.Count * Roles;
        (_mean, _slope, _count, _beatLength) = (new double[groups], new double[groups], new double[groups], new double[groups]);
        (_slopeOf, _pullOf, _countOf) = (new double[groups, table.Blocks], new double[groups, table.Blocks], new double[groups, table.Blocks]);
        (_strokes, _scale) = (new int[groups], new double[groups]);
        _free = new double[KitPieces.All.Count];
        Curve = new double[table.Strokes.Length];
        Weights = new double[table.Strokes.Length];
    }

    public StrokeTable Table => _table;

    /// <summary>The slow curve at each stroke.</summary>
    public double[] Curve { get; }

    /// <summary>Confidence × biweight of each stroke; 0 = a stray.</summary>
    public double[] Weights { get; }

    /// <summary>
    /// Standard error that a group's mean would have if its strokes were independent, squared: the piece's spread
    /// around the medians of its written places, over the count; 5 % more because the biweight is 95 % efficient.
    /// </summary>
    public double LeastVariance(KitPiece piece, PlaceRole role) => 1.05 * _free[(int)piece] * _free[(int)piece] / _count[Group(piece, role)];

    /// <summary>The same for the mean of so many strokes of a piece.</summary>
    public double LeastVariance(KitPiece piece, double strokes) => 1.05 * _free[(int)piece] * _free[(int)piece] / strokes;

    /// <summary>Robust spread of a group around its mean, seconds.</summary>
    public double ScaleOf(KitPiece piece, PlaceRole role) => _scale[Group(piece, role)];

    /// <param name="eighthsAreStraight">Off 8ths join the starts: they do not swing in this passage.</param>
    /// <param name="sixteenthsAreStraight">Off 16ths join the starts.</param>
    /// <param name="withCurve">False against a click: there the wander itself is part of being late.</param>
    public static FeelModel Fit(StrokeTable table, bool eighthsAreStraight, bool sixteenthsAreStraight, bool withCurve)
    {
        var model = new FeelModel(table, [false, eighthsAreStraight, sixteenthsAreStraight, false]);
        model.Solve(withCurve);
        model.Accumulate();
        return model;
    }

    public PlaceRole RoleOf(in Stroke stroke) => _merged[(int)stroke.Role] ? PlaceRole.Start : stroke.Role;

    public PlaceRole RoleOf(PlaceRole role) => _merged[(int)role] ? PlaceRole.Start : role;

    public int StrokesOf(KitPiece piece, PlaceRole role) => _strokes[Group(piece, role)];

    /// <summary>How many blocks hold a stroke of the group.</summary>
    public int BlocksOf(KitPiece piece, PlaceRole role)
    {
        int group = Group(piece, role), blocks = 0;
        for (int b = 0; b < _table.Blocks; b++)
            blocks += _countOf[group, b] > 0 ? 1 : 0;
        return blocks;
    }

    /// <summary>Confidence-weighted number of strokes, without block <paramref name="left"/> (−1 = all).</summary>
    public double Count(KitPiece piece, PlaceRole role, int left = -1)
    {
        int group = Group(piece, role);
        return left < 0 ? _count[group] : _count[group] - _countOf[group, left];
    }

    public double CountIn(KitPiece piece, PlaceRole role, int block) => _countOf[Group(piece, role), block];

    /// <summary>Mean length of a beat where the group's strokes lie, seconds.</summary>
    public double BeatLength(KitPiece piece, PlaceRole role) => _beatLength[Group(piece, role)];

    /// <summary>The group's mean deviation without block <paramref name="left"/> (−1 = all); NaN when nothing is left.</summary>
    public double Mean(KitPiece piece, PlaceRole role, int left = -1)
    {
        int group = Group(piece, role);
        if (_strokes[group] == 0)
            return double.NaN;
        if (left < 0)
            return _mean[group];
        if (_count[group] - _countOf[group, left] < 1e-9)
            return double.NaN;
        // A block of strays can have a negative slope; the floor keeps the step finite.
        double slope = Math.Max(_slope[group] - _slopeOf[group, left], 0.2 * (_count[group] - _countOf[group, left]));
        return _mean[group] - (_pullOf[group, left] / slope);
    }

    /// <summary>The slow curve between the strokes: straight from one to the next, level outside them.</summary>
    public double CurveAt(double beats)
    {
        int before = -1, after = -1;
        for (int i = 0; i < _table.Strokes.Length; i++)
        {
            double at = _table.Strokes[i].Beats;
            if (at <= beats && (before < 0 || at > _table.Strokes[before].Beats))
                before = i;
            if (at >= beats && (after < 0 || at < _table.Strokes[after].Beats))
                after = i;
        }

        if (before < 0 || after < 0)
            return Curve[Math.Max(before, after)];
        double gap = _table.Strokes[after].Beats - _table.Strokes[before].Beats;
        return gap <= 0 ? Curve[before] : Curve[before] + ((Curve[after] - Curve[before]) * (beats - _table.Strokes[before].Beats) / gap);
    }

    /// <summary>Deviation after curve and group mean.</summary>
    public double Residual(int stroke) =>
        _table.Strokes[stroke].Deviation - Curve[stroke] - _mean[Group(_table.Strokes[stroke].Piece, RoleOf(_table.Strokes[stroke]))];

    private static int Group(KitPiece piece, PlaceRole role) => ((int)piece * Roles) + (int)role;

    private int GroupOf(int stroke) => Group(_table.Strokes[stroke].Piece, RoleOf(_table.Strokes[stroke]));

    private void Solve(bool withCurve)
    {
        Stroke[] strokes = _table.Strokes;
        int n = strokes.Length;
        double[] beats = [.. strokes.Select(stroke => stroke.Beats)];
        double[] residual = new double[n], scratch = new double[n], curveWeights = new double[n];

        for (int group = 0; group < _mean.Length; group++)
        {
            int m = 0;
            for (int i = 0; i < n; i++)
            {
                if (GroupOf(i) == group)
                    scratch[m++] = strokes[i].Deviation;
            }

            _strokes[group] = m;
            if (m > 0)
                _mean[group] = Sorting.Median(scratch.AsSpan(0, m));
        }

        for (int round = 0; round < Rounds; round++)
        {
            double kit = FindScales(scratch);
            for (int i = 0; i < n; i++)
            {
                residual[i] = strokes[i].Deviation - _mean[GroupOf(i)];
                double scale = _scale[GroupOf(i)];
                // The curve listens to the steady hand more than to the loose foot: weights over variance, in units of the kit's.
                curveWeights[i] = strokes[i].Weight * Tukey.Weight(residual[i] - Curve[i], scale) * (kit * kit / (scale * scale));
            }

            if (withCurve)
                SlowCurve.Fit(beats, residual, curveWeights, Curve);
            MoveMeans(round >= Rounds / 2 ? 8 : 1);
        }
    }

    /// <summary>Weighted means by a few biweight steps with the scales held, so that the pulls sum to zero at the end.</summary>
    private void MoveMeans(int steps)
    {
        Stroke[] strokes = _table.Strokes;
        Span<double> top = stackalloc double[_mean.Length];
        Span<double> bottom = stackalloc double[_mean.Length];
        for (int step = 0; step < steps; step++)
        {
            top.Clear();
            bottom.Clear();
            for (int i = 0; i < strokes.Length; i++)
            {
                int group = GroupOf(i);
                double value = strokes[i].Deviation - Curve[i];
                Weights[i] = strokes[i].Weight * Tukey.Weight(value - _mean[group], _scale[group]);
                top[group] += Weights[i] * (value - _mean[group]);
                bottom[group] += Weights[i];
            }

            for (int group = 0; group < _mean.Length; group++)
                _mean[group] += bottom[group] > 0 ? top[group] / bottom[group] : 0;
        }
    }

    /// <summary>
    /// Spread of every group: its own from 16 strokes on (a hand's off-beats can be far looser than its beats),
    /// else its piece's from 6, else the kit's. Returns the kit's.
    /// </summary>
    private double FindScales(double[] scratch)
    {
        const int FewestForGroup = 16;
        const int FewestForPiece = 6;
        double kit = Scale(scratch, 0, _strokes.Length);
        for (int first = 0; first < _strokes.Length; first += Roles)
        {
            int n = _strokes.AsSpan(first, Roles).ToArray().Sum(), groups = _strokes.AsSpan(first, Roles).ToArray().Count(count => count > 0);
            if (n == 0)
                continue;
            double piece = n >= FewestForPiece && n > 2 * groups ? Scale(scratch, first, first + Roles) : kit;
            for (int group = first; group < first + Roles; group++)
                _scale[group] = _strokes[group] >= FewestForGroup ? Scale(scratch, group, group + 1) : piece;
        }

        return kit;
    }

    /// <summary>1.4826 × median |residual| of the groups from <paramref name="first"/> to before <paramref name="end"/>, widened for the means fitted to few strokes.</summary>
    private double Scale(double[] scratch, int first, int end)
    {
        int n = 0, groups = 0;
        for (int i = 0; i < _table.Strokes.Length; i++)
        {
            int group = GroupOf(i);
            if (group >= first && group < end)
                scratch[n++] = Math.Abs(Residual(i));
        }

        for (int group = first; group < end; group++)
            groups += _strokes[group] > 0 ? 1 : 0;
        double spread = 1.4826 * Sorting.Median(scratch.AsSpan(0, n)) * Math.Sqrt(n / (double)Math.Max(n - groups, 1));
        return Math.Max(spread, SmallestScale);
    }

    private void Accumulate()
    {
        Stroke[] strokes = _table.Strokes;
        for (int i = 0; i < strokes.Length; i++)
        {
            int group = GroupOf(i), block = strokes[i].Block;
            double scale = _scale[group], residual = Residual(i), weight = strokes[i].Weight;
            double slope = weight * Tukey.Slope(residual, scale), pull = weight * residual * Tukey.Weight(residual, scale);
            _slope[group] += slope;
            _slopeOf[group, block] += slope;
            _pullOf[group, block] += pull;
            _count[group] += weight;
            _countOf[group, block] += weight;
            _beatLength[group] += weight * strokes[i].BeatLength;
        }

        foreach (KitPiece piece in _table.Pieces)
        {
            int[] own = [.. Enumerable.Range(0, strokes.Length).Where(i => strokes[i].Piece == piece)];
            _free[(int)piece] = Spread.Around([.. own.Select(i => strokes[i].Deviation - Curve[i])], [.. own.Select(i => strokes[i].Cell)]);
        }

        for (int group = 0; group < _beatLength.Length; group++)
            _beatLength[group] = _count[group] > 0 ? _beatLength[group] / _count[group] : 0;
    }
}
