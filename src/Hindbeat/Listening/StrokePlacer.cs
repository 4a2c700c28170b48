using Hindbeat.Performances;
using Hindbeat.Sound;

namespace Hindbeat.Listening;

/// <summary>How far a stroke's time is followed, for measuring what each step adds.</summary>
internal enum StrokeTiming
{
    /// <summary>As the network has it.</summary>
    Network,

    /// <summary>On the waveform, each stroke by itself.</summary>
    Waveform,

    /// <summary>By the recording's own averaged strokes.</summary>
    OwnShapes,
}

/// <summary>
/// When exactly each stroke was struck: first each by itself on the waveform, then by how it lies on the shapes of its piece that
/// this recording has taught.
/// </summary>
internal sealed class StrokePlacer
{
    /// <summary>Shapes are learned from at most this many strokes of a piece, evenly spread over the passage.</summary>
    private const int MostLearned = 96;

    /// <summary>... that are at least this certain. The comparer is surer of soft strokes than the first network was; at 0.6 they took part and blurred the shapes (train takes, room).</summary>
    private const double CertainEnough = 0.9;

    /// <summary>Another stroke this near (20 ms) is heard in the onset of this one.</summary>
    private const double Beside = 0.020 * StrokeView.Rate;

    /// <summary>Fewer moved strokes say nothing of the usual one.</summary>
    private const int LeastMoved = 4;

    // Toms are left out of it: a passage has few strokes of each, and on eight kits their shapes moved as many away from the truth as towards it.
    private readonly MonoSound _sound;
    private readonly IReadOnlyList<CurveStroke> _strokes;
    private readonly StrokeTiming _timing;
    private readonly StrokeView _view;
    private readonly StrokeTimer _timer = new();
    private readonly ShapeMatcher _matcher = new();

    /// <param name="strokes">In order of time.</param>
    /// <param name="metalHertz">As for <see cref="StrokeView"/>.</param>
    public StrokePlacer(MonoSound sound, IReadOnlyList<CurveStroke> strokes, double metalHertz, StrokeTiming timing)
    {
        _sound = sound;
        _strokes = strokes;
        _timing = timing;
        _view = new StrokeView(metalHertz);
    }

    /// <returns>Sample of the recording of each stroke.</returns>
    public double[] Place(CancellationToken cancel)
    {
        double[] placed = new double[_strokes.Count];
        foreach (IGrouping<KitPiece, int> piece in Enumerable.Range(0, _strokes.Count).GroupBy(i => _strokes[i].Piece))
        {
            int[] strokes = [.. piece];
            StrokeShape[] shapes = _timing == StrokeTiming.OwnShapes && piece.Key.Family() != PieceFamily.Tom ? Shapes(strokes, piece.Key.Family(), cancel) : [];
            Place(strokes, shapes, placed, cancel);
        }

        return placed;
    }

    private StrokeShape[] Shapes(int[] strokes, PieceFamily family, CancellationToken cancel)
    {
        int[] certain = [.. strokes.Where(i => _strokes[i].Certainty > CertainEnough && IsAlone(i))];
        int count = Math.Min(certain.Length, MostLearned);
        LearnedStroke[] learned = new LearnedStroke[count];
        for (int k = 0; k < count; k++)
        {
            cancel.ThrowIfCancellationRequested();
            int i = certain[(int)((long)k * certain.Length / count)];
            _view.Look(_sound, _strokes[i], wide: true);
            int start = _timer.Refine(_view, _strokes, i) - ShapeLearner.Before - ShapeMatcher.Reach;
            learned[k] = new LearnedStroke([.. Enumerable.Range(0, BandBank.Count).Select(band => _view.Band(band).Slice(start, ShapeLearner.Length + (2 * ShapeMatcher.Reach)).ToArray())]);
        }

        return ShapeLearner.Learn(learned, family, _matcher);
    }

    /// <summary>
    /// Nothing that fills its onset band sounds with it. Hats struck with a kick are alike among themselves too, and their average begins with the kick.
    /// </summary>
    private bool IsAlone(int index)
    {
        CurveStroke stroke = _strokes[index];
        for (int i = index - 1; i >= 0 && stroke.Sample - _strokes[i].Sample < Beside; i--)
        {
            if (Hides(_strokes[i].Family, stroke.Family))
                return false;
        }

        for (int i = index + 1; i < _strokes.Count && _strokes[i].Sample - stroke.Sample < Beside; i++)
        {
            if (Hides(_strokes[i].Family, stroke.Family))
                return false;
        }

        return true;
    }

    private static bool Hides(PieceFamily other, PieceFamily family) => other != family
        && (other is PieceFamily.Kick or PieceFamily.Snare or PieceFamily.Tom || family is PieceFamily.Hat or PieceFamily.Cymbal);

    private void Place(int[] strokes, StrokeShape[] shapes, double[] placed, CancellationToken cancel)
    {
        List<int> left = [];
        List<double> moves = [];
        foreach (int i in strokes)
        {
            cancel.ThrowIfCancellationRequested();
            _view.Look(_sound, _strokes[i], wide: false);
            int first = _timing == StrokeTiming.Network ? StrokeView.Half : _timer.Refine(_view, _strokes, i);
            int onset = first;
            if (shapes.Length > 0)
            {
                _matcher.Look(_view.Band(0), _view.Band(1), _view.Band(2), first, StrokeBands.Of(_view.Family));
                ShapeFit fit = _matcher.Fit(shapes);
                if (fit.Score >= ShapeMatcher.Alike)
                {
                    onset = first + fit.Lag + shapes[fit.Shape].Onset;
                    moves.Add(onset - first);
                }
                else
                {
                    left.Add(i);
                }
            }

            placed[i] = _timing == StrokeTiming.Network ? _strokes[i].Sample : _view.Start + onset;
        }

        if (moves.Count < LeastMoved)
            return;
        moves.Sort();
        foreach (int i in left)
            placed[i] += moves[moves.Count / 2];
    }
}
