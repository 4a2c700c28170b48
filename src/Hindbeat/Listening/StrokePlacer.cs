using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;

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
/// When exactly each stroke was struck and how loud: first each by itself on the waveform, then by how it lies on the shapes of its piece that
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

    /// <summary>What the usual stroke is off by is told from at most this many.</summary>
    private const int MostForUsual = 32;

    // Toms are left out of it: a passage has few strokes of each, and on eight kits their shapes moved as many away from the truth as towards it.
    private readonly MonoSound _sound;
    private readonly double _metalHertz;
    private readonly IReadOnlyList<CurveStroke> _strokes;
    private readonly StrokeTiming _timing;
    private readonly StrokeView _view;
    private readonly StrokeTimer _timer = new();
    private readonly ShapeMatcher _matcher = new();
    private readonly StrokeLoudness _loudness;
    private DrumTail?[] _drums = [];
    private double _usual;

    /// <param name="strokes">In order of time.</param>
    /// <param name="metalHertz">As for <see cref="StrokeView"/>.</param>
    public StrokePlacer(MonoSound sound, IReadOnlyList<CurveStroke> strokes, double metalHertz, StrokeTiming timing)
    {
        _sound = sound;
        _metalHertz = metalHertz;
        _strokes = strokes;
        _timing = timing;
        _view = new StrokeView(metalHertz);
        _loudness = new StrokeLoudness(metalHertz);
    }

    /// <returns>Sample of the recording and level of each stroke.</returns>
    public (double Sample, Level Level)[] Place(CancellationToken cancel)
    {
        (double Sample, Level Level)[] placed = new (double, Level)[_strokes.Count];
        IGrouping<KitPiece, int>[] pieces = [.. Enumerable.Range(0, _strokes.Count).GroupBy(i => _strokes[i].Piece)];

        // Drums first: hats are told from what they leave. Cymbals gained nothing by it.
        foreach (IGrouping<KitPiece, int> piece in pieces.OrderBy(piece => piece.Key.Family() == PieceFamily.Hat))
        {
            int[] strokes = [.. piece];
            bool isBehindDrums = piece.Key.Family() == PieceFamily.Hat && _timing != StrokeTiming.Network;
            if (_drums.Length == 0 && isBehindDrums)
                _drums = DrumsBefore(placed, cancel);
            _usual = isBehindDrums ? Usual(strokes, cancel) : 0;
            StrokeShape[] shapes = _timing == StrokeTiming.OwnShapes && piece.Key.Family() != PieceFamily.Tom ? Shapes(strokes, piece.Key.Family(), cancel) : [];
            Place(strokes, shapes, placed, cancel);
        }

        return placed;
    }

    /// <summary>For each hat the last drum before it that may still sound.</summary>
    private DrumTail?[] DrumsBefore((double Sample, Level Level)[] placed, CancellationToken cancel)
    {
        Dictionary<KitPiece, float[][]> tails = DrumTails.Learn(_sound, _strokes, i => placed[i].Sample, _metalHertz, cancel);
        DrumTail?[] drums = new DrumTail?[_strokes.Count];
        int last = -1;
        for (int i = 0; i < drums.Length; i++)
        {
            if (DrumTails.IsDrum(_strokes[i]))
                last = i;
            else if (last >= 0 && _strokes[i].Family == PieceFamily.Hat && _strokes[i].Sample - placed[last].Sample < DrumTails.Longest)
                drums[i] = new DrumTail(placed[last].Sample, _strokes[i].Sample - _strokes[last].Sample, tails.GetValueOrDefault(_strokes[last].Piece));
        }

        return drums;
    }

    private DrumTail? DrumBefore(int index) => _drums.Length > 0 && _drums[index] is { } drum ? drum with { Usual = _usual } : null;

    /// <summary>By how much the waveform moves the network's times of hats that no drum is near, samples: −1 ms in a far room; 0 where there are too few.</summary>
    private double Usual(int[] strokes, CancellationToken cancel)
    {
        int[] alone = [.. strokes.Where(i => _strokes[i].Certainty > CertainEnough && _drums[i] is null && IsAlone(i))];
        int count = Math.Min(alone.Length, MostForUsual);
        if (count < LeastMoved)
            return 0;
        double[] moves = new double[count];
        for (int k = 0; k < count; k++)
        {
            cancel.ThrowIfCancellationRequested();
            int i = alone[(int)((long)k * alone.Length / count)];
            _view.Look(_sound, _strokes[i], wide: false);
            moves[k] = _timer.Refine(_view, _strokes, i) - StrokeView.Half;
        }

        Array.Sort(moves);
        return moves[count / 2];
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
            int start = _timer.Refine(_view, _strokes, i, DrumBefore(i)) - ShapeLearner.Before - ShapeMatcher.Reach;
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

    private void Place(int[] strokes, StrokeShape[] shapes, (double Sample, Level Level)[] placed, CancellationToken cancel)
    {
        List<int> left = [];
        List<double> moves = [];
        PieceFamily family = _strokes[strokes[0]].Family;
        int levelBands = StrokeBands.Of(family).Levels.Length;
        BandLevel[] heard = new BandLevel[strokes.Length * levelBands];
        for (int k = 0; k < strokes.Length; k++)
        {
            int i = strokes[k];
            cancel.ThrowIfCancellationRequested();
            _view.Look(_sound, _strokes[i], wide: false);
            int first = _timing == StrokeTiming.Network ? StrokeView.Half : _timer.Refine(_view, _strokes, i, DrumBefore(i));
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

            double sample = _timing == StrokeTiming.Network ? _strokes[i].Sample : _view.Start + onset;
            placed[i].Sample = sample;
            _loudness.Measure(_sound, family, _view.Start + onset, heard.AsSpan(k * levelBands, levelBands));
        }

        Level[] levels = StrokeLoudness.Combine(family, heard);
        for (int k = 0; k < strokes.Length; k++)
            placed[strokes[k]].Level = levels[k];
        if (moves.Count < LeastMoved)
            return;
        moves.Sort();
        foreach (int i in left)
            placed[i].Sample += moves[moves.Count / 2];
    }
}
