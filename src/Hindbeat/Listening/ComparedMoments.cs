namespace Hindbeat.Listening;

/// <summary>What the comparer says of every moment of a passage.</summary>
/// <remarks>
/// Moments are compared in parts of <see cref="Part"/> (about 50 s) that overlap, so that the comparing of all with all does not grow with the square of the passage; each part's inner
/// moments count.
/// </remarks>
internal sealed class ComparedMoments
{
    /// <summary>A stroke's peak further than this many columns from every moment is no moment's.</summary>
    private const int Furthest = 3;

    private const int Part = 512;
    private const int Edge = 48;

    private readonly int[] _columns;
    private readonly float[] _onset;
    private readonly float[] _velocity;
    private readonly float[] _place;

    private ComparedMoments(int[] columns)
    {
        _columns = columns;
        _onset = new float[columns.Length * ListenerModel.Channels];
        _velocity = new float[columns.Length * ListenerModel.Channels];
        _place = new float[columns.Length * ListenerModel.Families];
    }

    public int Count => _columns.Length;

    public static ComparedMoments Of(ComparerModel model, MomentViews views, CancellationToken cancel)
    {
        ComparedMoments compared = new([.. views.Columns]);
        int part = Math.Min(Part, compared.Count);
        float[] seen = new float[part * ComparerModel.Seen];
        float[] own = new float[part * ComparerModel.Curves];
        float[] gaps = new float[part * ComparerModel.Gaps];
        float[][] output = [new float[part * ListenerModel.Channels], new float[part * ListenerModel.Channels], new float[part * ListenerModel.Families]];
        for (int end = part, begin = 0; compared.Count > 0;)
        {
            cancel.ThrowIfCancellationRequested();
            views.Seen.Slice(begin * ComparerModel.Seen, seen.Length).CopyTo(seen);
            views.Own.Slice(begin * ComparerModel.Curves, own.Length).CopyTo(own);
            for (int i = 0; i < part; i++)
                views.Gaps(begin + i, gaps.AsSpan(i * ComparerModel.Gaps, ComparerModel.Gaps));
            model.Compare(part, seen, gaps, own, output[0], output[1], output[2]);
            int skip = begin == 0 ? 0 : Edge;
            Copy(output[0], compared._onset, ListenerModel.Channels);
            Copy(output[1], compared._velocity, ListenerModel.Channels);
            Copy(output[2], compared._place, ListenerModel.Families);
            if (end == compared.Count)
                break;
            end = Math.Min(end - (2 * Edge) + part, compared.Count);
            begin = end - part;

            void Copy(float[] from, float[] to, int width) => Array.Copy(from, skip * width, to, (begin + skip) * width, (part - skip) * width);
        }

        return compared;
    }

    /// <summary>The moment a column belongs to; null where none is near.</summary>
    public int? At(int column)
    {
        int i = Array.BinarySearch(_columns, column);
        if (i >= 0)
            return i;
        int after = ~i;
        int? best = null;
        foreach (int moment in (ReadOnlySpan<int>)[after - 1, after])
        {
            if (moment >= 0 && moment < _columns.Length && Distance(moment) <= Furthest && (best is not int other || Distance(moment) < Distance(other)))
                best = moment;
        }

        return best;

        int Distance(int moment) => Math.Abs(_columns[moment] - column);
    }

    public int Column(int moment) => _columns[moment];

    /// <summary>Probability of a stroke at a moment, 0 to 1.</summary>
    public float Onset(int moment, int channel) => _onset[(moment * ListenerModel.Channels) + channel];

    /// <summary>Strength of a stroke there, 0 to 1; says nothing where there is none.</summary>
    public float Velocity(int moment, int channel) => _velocity[(moment * ListenerModel.Channels) + channel];

    /// <summary>Columns from the moment's own column to where a family's stroke is.</summary>
    public float Place(int moment, int family) => _place[(moment * ListenerModel.Families) + family];
}
