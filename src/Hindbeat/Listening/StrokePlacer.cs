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
/// When exactly each stroke was struck: each by itself on the waveform, then by how it lies on the shapes of its piece that
/// this recording has taught.
/// </summary>
/// <remarks>
/// In two passes. The first only learns what each stroke sounds like; in the second that is taken off around every other stroke, so that strokes in company teach and are timed as
/// if they were alone. docs/decisions/listening-peeled.md holds the measurements.
/// </remarks>
internal sealed class StrokePlacer
{
    /// <summary>A view reaches so far (rounded up) that the sound of a stroke up to this long before it is in it, ...</summary>
    private const double HeardAfter = 0.105 * StrokeView.Rate;

    /// <summary>... or up to this long after it.</summary>
    private const double HeardBefore = 0.050 * StrokeView.Rate;

    /// <summary>Fewer moved strokes say nothing of the usual one.</summary>
    private const int LeastMoved = 4;

    // Toms are left out of it: a passage has few strokes of each, and on eight kits their shapes moved as many away from the truth as towards it.
    private readonly MonoSound _sound;
    private readonly IReadOnlyList<CurveStroke> _strokes;
    private readonly StrokeTiming _timing;
    private readonly StrokeView _view;
    private readonly StrokeTimer _timer = new();
    private readonly ShapeMatcher _matcher = new();
    private readonly ShapeStrokes _teachers;

    /// <param name="strokes">In order of time.</param>
    /// <param name="metalHertz">As for <see cref="StrokeView"/>.</param>
    public StrokePlacer(MonoSound sound, IReadOnlyList<CurveStroke> strokes, double metalHertz, StrokeTiming timing)
    {
        _sound = sound;
        _strokes = strokes;
        _timing = timing;
        _view = new StrokeView(metalHertz);
        _teachers = new ShapeStrokes(sound, strokes, _view, _timer);
    }

    /// <returns>Sample of the recording of each stroke.</returns>
    public double[] Place(CancellationToken cancel)
    {
        int[][] pieces = [.. Enumerable.Range(0, _strokes.Count).GroupBy(i => _strokes[i].Piece).Select(piece => piece.ToArray())];
        StrokeSounds? sounds = _timing == StrokeTiming.OwnShapes ? Sounds(pieces, cancel) : null;
        double[] placed = new double[_strokes.Count];
        foreach (int[] piece in pieces)
        {
            PieceFamily family = _strokes[piece[0]].Family;
            LearnedStroke[] learned = sounds is not null && family != PieceFamily.Tom ? _teachers.Of(piece, sounds, cancel) : [];
            Place(piece, learned, ShapeLearner.Learn(learned, family, _matcher), sounds, placed, cancel);
        }

        return placed;
    }

    /// <summary>The first pass. A stroke that is like no shape of its piece stays in what sounds.</summary>
    private StrokeSounds Sounds(int[][] pieces, CancellationToken cancel)
    {
        StrokeSounds sounds = new(_strokes);
        foreach (int[] piece in pieces)
        {
            LearnedStroke[] learned = _teachers.Of(piece, others: null, cancel);
            StrokeShape[] shapes = ShapeLearner.Learn(learned, _strokes[piece[0]].Family, _matcher);
            if (shapes.Length == 0)
                continue;
            Dictionary<int, LearnedStroke> known = Known(learned);
            foreach (int i in piece.Where(i => known.ContainsKey(i) || IsHeardInOthers(i)))
            {
                cancel.ThrowIfCancellationRequested();
                (long first, ShapeFit fit) = Laid(i, known.GetValueOrDefault(i), shapes, others: null);
                if (fit.Score >= ShapeMatcher.Alike)
                    sounds.Set(i, shapes[fit.Shape].Sound!, first + fit.Lag - AverageSound.Before, fit.Gain);
            }
        }

        return sounds;
    }

    /// <summary>Those that lie on a shape already.</summary>
    private static Dictionary<int, LearnedStroke> Known(LearnedStroke[] learned) => learned.Where(stroke => stroke.Fit.Shape >= 0).ToDictionary(stroke => stroke.Index);

    /// <summary>Some stroke's view holds what this one sounds.</summary>
    private bool IsHeardInOthers(int index)
    {
        double at = _strokes[index].Sample;
        return (index > 0 && at - _strokes[index - 1].Sample < HeardBefore) || (index + 1 < _strokes.Count && _strokes[index + 1].Sample - at < HeardAfter);
    }

    /// <summary>A stroke's first time, a sample of the recording, and how it lies on its piece's shapes; score 0 = there are none.</summary>
    private (long First, ShapeFit Fit) Laid(int index, LearnedStroke? known, StrokeShape[] shapes, StrokeSounds? others)
    {
        if (known is not null)
            return (known.At, known.Fit);
        _view.Look(_sound, _strokes, index, wide: false, others);
        int first = _timing == StrokeTiming.Network ? StrokeView.Half : _timer.Refine(_view, _strokes, index);
        if (shapes.Length == 0)
            return (_view.Start + first, default);
        _matcher.Look(_view.Band(0), _view.Band(1), _view.Band(2), first, StrokeBands.Of(_view.Family));
        return (_view.Start + first, _matcher.Fit(shapes));
    }

    private void Place(int[] strokes, LearnedStroke[] learned, StrokeShape[] shapes, StrokeSounds? others, double[] placed, CancellationToken cancel)
    {
        List<int> left = [];
        List<double> moves = [];
        Dictionary<int, LearnedStroke> known = Known(learned);
        foreach (int i in strokes)
        {
            cancel.ThrowIfCancellationRequested();
            (long first, ShapeFit fit) = Laid(i, known.GetValueOrDefault(i), shapes, others);
            long onset = first;
            if (fit.Score >= ShapeMatcher.Alike)
            {
                onset = first + fit.Lag + shapes[fit.Shape].Onset;
                moves.Add(onset - first);
            }
            else
            {
                left.Add(i);
            }

            placed[i] = _timing == StrokeTiming.Network ? _strokes[i].Sample : onset;
        }

        if (moves.Count < LeastMoved)
            return;
        moves.Sort();
        foreach (int i in left)
            placed[i] += moves[moves.Count / 2];
    }
}
