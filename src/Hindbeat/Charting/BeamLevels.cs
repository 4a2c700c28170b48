using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>One beam of one level: from event to event, or a short partial beam at one event.</summary>
/// <param name="Level">1 = the primary beam, nearest the stem tips.</param>
/// <param name="Hook">0 for a whole beam; +1 a partial beam to the right of <paramref name="First"/>, −1 to its left.</param>
internal readonly record struct BeamPiece(int Level, int First, int Last, int Hook);

/// <summary>
/// The primary, secondary and partial beams of a run (common practice, no source): a level spans every
/// neighbouring event that has it; 32nds and shorter break their inner beams at each eighth so that the
/// eye can count; a lone value gets a partial beam pointing into the larger value it completes.
/// </summary>
internal static class BeamLevels
{
    private static readonly Fraction Eighth = new(1, 8);

    public static List<BeamPiece> Of(ChartVoice voice, BeamRun run)
    {
        var pieces = new List<BeamPiece>();
        int most = 0;
        for (int i = run.First; i <= run.Last; i++)
            most = Math.Max(most, Levels(voice, i));
        for (int level = 1; level <= most; level++)
        {
            int first = -1;
            for (int i = run.First; i <= run.Last + 1; i++)
            {
                bool has = i <= run.Last && Levels(voice, i) >= level;
                bool breaks = has && first >= 0 && level > 1 && most > 2 && (voice.Events[i].At / Eighth).Denominator == 1;
                if (first >= 0 && (!has || breaks))
                {
                    Close(voice, run, level, first, i - 1, pieces);
                    first = -1;
                }

                if (has && first < 0)
                    first = i;
            }
        }

        return pieces;
    }

    private static void Close(ChartVoice voice, BeamRun run, int level, int first, int last, List<BeamPiece> pieces)
    {
        if (last > first)
        {
            pieces.Add(new BeamPiece(level, first, last, 0));
            return;
        }

        int hook = first == run.First ? 1
            : first == run.Last ? -1
            : BeginsALargerValue(voice.Events[first]) ? 1 : -1;
        pieces.Add(new BeamPiece(level, first, first, hook));
    }

    private static bool BeginsALargerValue(ChartEvent note) => (note.At / (note.Length * 2)).Denominator == 1;

    /// <summary>A rest inside a run carries the primary beam only.</summary>
    private static int Levels(ChartVoice voice, int index) =>
        voice.Events[index].IsRest ? 1 : voice.Events[index].Value.Flags;
}
