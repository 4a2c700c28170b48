using Hindbeat.Performances;

namespace Hindbeat.Listening;

/// <summary>Which piece of a family was struck: the one whose templates explain most of the family's part.</summary>
internal sealed class PieceChooser(HeardMoments heard)
{
    private readonly float[] _strengths = new float[KitPieces.All.Count];

    public KitPiece Choose(Moment moment, StrokeFamily family)
    {
        Array.Clear(_strengths);
        int best = -1;
        for (int k = 0; k < heard.Families.Length; k++)
        {
            if (heard.Families[k] != family)
                continue;
            int piece = (int)heard.Templates.Pieces[k];
            _strengths[piece] += moment.Strengths[k];
            if (best < 0 || _strengths[piece] > _strengths[best])
                best = piece;
        }

        return (KitPiece)best;
    }
}
