using Hindbeat.Performances;
using Hindbeat.Sound;

namespace Hindbeat.Listening;

/// <summary>Which of a piece's strokes teach its shapes, and how they sound.</summary>
/// <remarks>One instance a thread and a recording.</remarks>
internal sealed class ShapeStrokes(MonoSound sound, IReadOnlyList<CurveStroke> strokes, StrokeView view, StrokeTimer timer)
{
    /// <summary>Shapes are learned from at most this many strokes of a piece, evenly spread over the passage.</summary>
    private const int MostLearned = 96;

    /// <summary>... that are at least this certain. The comparer is surer of soft strokes than the first network was; at 0.6 they took part and blurred the shapes (train takes, room).</summary>
    private const double CertainEnough = 0.9;

    /// <summary>Another stroke this near (20 ms) is heard in the onset of this one.</summary>
    private const double Beside = 0.020 * StrokeView.Rate;

    /// <summary>Of a drum with fewer strokes that nothing sounds with, all teach.</summary>
    private const int FewAlone = 12;

    /// <summary>What was sounding is held on in two pieces: from where the average begins, and from here before the stroke on ...</summary>
    private const int HeldBefore = (int)(0.018 * StrokeView.Rate);

    /// <summary>... to here after it.</summary>
    private const int HeldAfter = (int)(0.008 * StrokeView.Rate);

    /// <summary>Of a kick: its first moment lies lowest and longest under what hums. Snares lost by it (two training kits).</summary>
    private readonly HeldSound _held = new(StrokeBands.Of(PieceFamily.Kick).Onset);

    /// <param name="piece">Indices of one piece's strokes, ascending.</param>
    /// <param name="others">What the other strokes sound like; null = not known yet, and strokes that others sound with teach nothing.</param>
    public LearnedStroke[] Of(int[] piece, StrokeSounds? others, CancellationToken cancel)
    {
        PieceFamily family = strokes[piece[0]].Family;
        int[] certain = [.. piece.Where(i => strokes[i].Certainty > CertainEnough)];
        int[] alone = others is null ? [.. certain.Where(IsAlone)] : certain;
        if (alone.Length >= FewAlone || family is PieceFamily.Hat or PieceFamily.Cymbal)
            certain = alone;
        LearnedStroke[] learned = new LearnedStroke[Math.Min(certain.Length, MostLearned)];
        for (int k = 0; k < learned.Length; k++)
        {
            cancel.ThrowIfCancellationRequested();
            learned[k] = Learned(certain[(int)((long)k * certain.Length / learned.Length)], others);
        }

        return learned;
    }

    private LearnedStroke Learned(int index, StrokeSounds? others)
    {
        const int Reach = ShapeMatcher.Reach;
        view.Look(sound, strokes, index, wide: true, others);
        int start = timer.Refine(view, strokes, index) - ShapeLearner.Before - Reach;
        float[][] bands = [.. Enumerable.Range(0, BandBank.Count).Select(band => view.Band(band).Slice(start, ShapeLearner.Length + (2 * Reach)).ToArray())];
        long at = view.Start + start + Reach + ShapeLearner.Before;
        if (others is not null)
        {
            // The sounds are known already; now it is about the first moment.
            if (strokes[index].Family == PieceFamily.Kick)
            {
                const int First = ShapeLearner.Before - HeldBefore;
                _held.TakeOff(sound, at - ShapeLearner.Before, bands[^1].AsSpan(Reach, First));
                _held.TakeOff(sound, at - HeldBefore, bands[^1].AsSpan(Reach + First, HeldBefore + HeldAfter));
            }

            return new LearnedStroke(index, at, bands, []);
        }

        float[] whole = new float[AverageSound.Heard + (2 * Reach)];
        sound.Read(at - AverageSound.Lead - Reach, whole);
        return new LearnedStroke(index, at, bands, whole);
    }

    /// <summary>
    /// Nothing that fills its onset band sounds with it. Hats struck with a kick are alike among themselves too, and their average begins with the kick.
    /// </summary>
    private bool IsAlone(int index)
    {
        CurveStroke stroke = strokes[index];
        for (int i = index - 1; i >= 0 && stroke.Sample - strokes[i].Sample < Beside; i--)
        {
            if (Hides(strokes[i].Family, stroke.Family))
                return false;
        }

        for (int i = index + 1; i < strokes.Count && strokes[i].Sample - stroke.Sample < Beside; i++)
        {
            if (Hides(strokes[i].Family, stroke.Family))
                return false;
        }

        return true;
    }

    private static bool Hides(PieceFamily other, PieceFamily family) => other != family
        && (other is PieceFamily.Kick or PieceFamily.Snare or PieceFamily.Tom || family is PieceFamily.Hat or PieceFamily.Cymbal);
}
