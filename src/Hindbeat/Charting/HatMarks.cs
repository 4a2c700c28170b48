using Hindbeat.Performances;

namespace Hindbeat.Charting;

/// <summary>
/// Which closed strokes need a "+": the first one after an open stroke, unless the pedal has closed the
/// hats in between. All other closed strokes go without (common practice, no source).
/// </summary>
internal static class HatMarks
{
    /// <summary>A hat stroke, heard as open or closed, that a person marked as half-open.</summary>
    public static bool IsHalfOpen(ChartNote note) => note.Marks.HasFlag(HitMarks.HalfOpen) && (note.Piece is KitPiece.HatOpen or KitPiece.HatClosed);

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
                bool half = IsHalfOpen(note);
                if (note.Piece == KitPiece.HatClosed && open && !half)
                    closing.Add(note.Hit);
                open = note.Piece switch
                {
                    KitPiece.HatOpen => true,
                    KitPiece.HatClosed => half,
                    KitPiece.HatPedal => false,
                    _ => open,
                };
            }
        }

        return closing;
    }
}
