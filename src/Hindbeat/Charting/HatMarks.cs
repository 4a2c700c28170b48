using Hindbeat.Performances;

namespace Hindbeat.Charting;

/// <summary>
/// Which closed strokes need a "+": the first one after an open stroke, unless the pedal has closed the
/// hats in between. All other closed strokes go without (common practice, no source).
/// </summary>
internal static class HatMarks
{
    public static HashSet<int> ClosingStrokes(Chart chart)
    {
        var closing = new HashSet<int>();
        bool open = false;
        foreach (ChartBar bar in chart.Bars)
        {
            foreach (ChartNote note in bar.Voices
                .SelectMany(voice => voice.Events)
                .OrderBy(happening => happening.At)
                .SelectMany(happening => happening.Notes))
            {
                if (note.Piece == KitPiece.HatClosed && open)
                    closing.Add(note.Hit);
                open = note.Piece switch
                {
                    KitPiece.HatOpen => true,
                    KitPiece.HatClosed or KitPiece.HatPedal => false,
                    _ => open,
                };
            }
        }

        return closing;
    }
}
