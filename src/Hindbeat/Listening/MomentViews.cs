using Hindbeat.Performances;
using Hindbeat.Sound;

namespace Hindbeat.Listening;

/// <summary>Where strokes may be on the network's curves, and what is seen at each of these moments: the input of the comparer.</summary>
/// <remarks>
/// training/moments.py says what a moment is and what belongs to it, to the last detail; a test compares both on stored numbers. What is seen is summed up window by window, while
/// the window's pictures are there. One instance a passage; <see cref="Take"/> allocates only when its store grows.
/// </remarks>
internal sealed class MomentViews
{
    /// <summary>Columns to either side of a column whose curves decide whether it is a moment.</summary>
    public const int CurveReach = 3;

    /// <summary>Under this no peak is a stroke's.</summary>
    public const float Least = 0.06f;

    /// <summary>Columns about the moment in which a family's own peak is looked for.</summary>
    private const int Near = 2;

    /// <summary>Moments that are summed up at a time.</summary>
    private const int Together = 32;

    private static readonly int[] PictureColumns = [-8, -5, -3, -2, -1, 0, 1, 2, 3, 4, 5, 7, 10, 14, 18];

    private static readonly int[] FamilyOf = [.. Enumerable.Range(0, ListenerModel.Channels).Select(channel =>
        channel < ListenerModel.Families ? channel : (int)((KitPiece)(channel - ListenerModel.Families)).Family())];

    private readonly ComparerModel _model;
    private readonly ListenerCurves _curves;
    private readonly MonoSound _sound;
    private readonly float _gain;
    private readonly FinePicture _fine = new();
    private readonly float[] _someCurves = new float[Together * ComparerModel.Curves];
    private readonly float[] _someHidden = new float[Together * ComparerModel.Hidden];
    private readonly float[] _somePictures = new float[Together * ComparerModel.Pictures];
    private readonly float[] _someFine = new float[Together * ComparerModel.Fine];
    private readonly float[] _someSeen = new float[Together * ComparerModel.Seen];
    private readonly List<int> _columns = [];
    private float[] _seen = new float[256 * ComparerModel.Seen];
    private float[] _own = new float[256 * ComparerModel.Curves];
    private int _known;

    /// <param name="curves">Known for good up to where <see cref="Take"/> is told.</param>
    /// <param name="gain">What brings the passage to −20 dBFS.</param>
    public MomentViews(ComparerModel model, ListenerCurves curves, MonoSound sound, float gain) =>
        (_model, _curves, _sound, _gain) = (model, curves, sound, gain);

    /// <summary>The moments' columns, in order of time.</summary>
    public IReadOnlyList<int> Columns => _columns;

    /// <summary>What is seen, a row of <see cref="ComparerModel.Seen"/> a moment.</summary>
    public ReadOnlySpan<float> Seen => _seen.AsSpan(0, _columns.Count * ComparerModel.Seen);

    /// <summary>The network's own word, a row of <see cref="ComparerModel.Curves"/> a moment.</summary>
    public ReadOnlySpan<float> Own => _own.AsSpan(0, _columns.Count * ComparerModel.Curves);

    /// <summary>Sums up the moments between where the last call ended and <paramref name="end"/>.</summary>
    /// <param name="begin">The window's first column; it has <paramref name="window"/> of them.</param>
    /// <param name="pictures">The window's broad picture, then its low one.</param>
    /// <param name="hidden">The window's last layer but one, a row a value.</param>
    public void Take(int begin, int window, int end, ReadOnlySpan<float> pictures, ReadOnlySpan<float> hidden)
    {
        int count = 0;
        for (int t = _known; t < end; t++)
        {
            if (FamilyAt(t) is not int family)
                continue;
            _columns.Add(t);
            WriteCurves(t, _someCurves.AsSpan(count * ComparerModel.Curves, ComparerModel.Curves));
            WriteHidden(t, begin, window, hidden, _someHidden.AsSpan(count * ComparerModel.Hidden, ComparerModel.Hidden));
            WritePictures(t, begin, window, pictures, _somePictures.AsSpan(count * ComparerModel.Pictures, ComparerModel.Pictures));
            float offset = Math.Clamp(_curves.Offset(t, family), -2, 2);
            long sample = _curves.From + ((long)t * ListenerPictures.Hop) + (long)MathF.Round(ListenerPictures.Hop * offset);
            _fine.Measure(_sound, sample, _gain, _someFine.AsSpan(count * ComparerModel.Fine, ComparerModel.Fine));
            if (++count == Together)
                Store(ref count);
        }

        Store(ref count);
        _known = Math.Max(_known, end);
    }

    /// <summary>log₂ of the times to the second and the next moment before and the next and the second behind, in tenths of a second; 4 where there is none.</summary>
    public void Gaps(int moment, Span<float> gaps)
    {
        int at = 0;
        foreach (int shift in (ReadOnlySpan<int>)[-2, -1, 1, 2])
        {
            int other = moment + shift;
            gaps[at++] = other < 0 || other >= _columns.Count ? 4
                : Math.Clamp(MathF.Log2(Math.Max(1, Math.Abs(_columns[other] - _columns[moment])) / 10f), -4, 4);
        }
    }

    /// <summary>The family whose peak makes a column a moment; null where it is none.</summary>
    private int? FamilyAt(int t)
    {
        (float strength, int family) = Strength(t);
        return strength > 0 && strength > Strength(t - 1).Value && strength > Strength(t - 2).Value && strength >= Strength(t + 1).Value && strength >= Strength(t + 2).Value
            ? family
            : null;
    }

    private (float Value, int Family) Strength(int t)
    {
        (float most, int which) = (0f, 0);
        for (int family = 0; family < ListenerModel.Families && t >= 0 && t < _curves.Columns; family++)
        {
            float here = _curves.Onset(t, family);
            if (here >= Least && here > most && (t == 0 || here >= _curves.Onset(t - 1, family)) && (t == _curves.Columns - 1 || here > _curves.Onset(t + 1, family)))
                (most, which) = (here, family);
        }

        return (most, which);
    }

    private void WriteCurves(int t, Span<float> row)
    {
        int at = 0;
        for (int shift = -Near; shift <= Near; shift++)
        {
            for (int family = 0; family < ListenerModel.Families; family++)
                row[at++] = QuarterLogit(_curves.Onset(Held(t + shift), family));
        }

        for (int channel = ListenerModel.Families; channel < ListenerModel.Channels; channel++)
            row[at++] = QuarterLogit(_curves.Onset(Highest(t, channel), channel));
        Span<int> own = stackalloc int[ListenerModel.Families];
        for (int family = 0; family < ListenerModel.Families; family++)
            own[family] = Highest(t, family);
        for (int channel = 0; channel < ListenerModel.Channels; channel++)
            row[at++] = _curves.Velocity(own[FamilyOf[channel]], channel);
        for (int family = 0; family < ListenerModel.Families; family++)
            row[at++] = own[family] - t + _curves.Offset(own[family], family);
    }

    private void WriteHidden(int t, int begin, int window, ReadOnlySpan<float> hidden, Span<float> row)
    {
        int at = 0;
        for (int shift = -1; shift <= 1; shift++)
        {
            int column = Held(t + shift) - begin;
            for (int value = 0; value < ListenerModel.Hidden; value++)
                row[at++] = hidden[(value * window) + column];
        }
    }

    private void WritePictures(int t, int begin, int window, ReadOnlySpan<float> pictures, Span<float> row)
    {
        int at = 0;
        foreach (int shift in PictureColumns)
        {
            int column = Held(t + shift) - begin;
            for (int picture = 0; picture < 2; picture++, at += MelPicture.Bands)
                pictures.Slice(((picture * window) + column) * MelPicture.Bands, MelPicture.Bands).CopyTo(row[at..]);
        }
    }

    private int Held(int column) => Math.Clamp(column, 0, _curves.Columns - 1);

    /// <summary>The first column within <see cref="Near"/> where a channel is highest.</summary>
    private int Highest(int t, int channel)
    {
        int best = Held(t - Near);
        for (int shift = 1 - Near; shift <= Near; shift++)
        {
            int column = Held(t + shift);
            if (_curves.Onset(column, channel) > _curves.Onset(best, channel))
                best = column;
        }

        return best;
    }

    private static float QuarterLogit(float p)
    {
        p = Math.Clamp(p, 1e-4f, 1 - 1e-4f);
        return MathF.Log(p / (1 - p)) / 4;
    }

    private void Store(ref int count)
    {
        if (count == 0)
            return;
        _model.Look(count, _someCurves, _someHidden, _somePictures, _someFine, _someSeen);
        int first = _columns.Count - count;
        if (_columns.Count * ComparerModel.Seen > _seen.Length)
        {
            Array.Resize(ref _seen, 2 * _seen.Length);
            Array.Resize(ref _own, 2 * _own.Length);
        }

        _someSeen.AsSpan(0, count * ComparerModel.Seen).CopyTo(_seen.AsSpan(first * ComparerModel.Seen));
        _someCurves.AsSpan(0, count * ComparerModel.Curves).CopyTo(_own.AsSpan(first * ComparerModel.Curves));
        count = 0;
    }
}
