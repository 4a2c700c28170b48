using Hindbeat.Performances;

namespace Hindbeat.Takes;

/// <summary>A stroke of the passage and the take's stroke for it, by index.</summary>
internal readonly record struct Counterpart(int Reference, int Round, int Take);

/// <summary>A stroke of the passage in one round; <paramref name="Place"/> is where it should sound, beats from the take's loop start.</summary>
internal readonly record struct Instance(int Reference, int Round, double Place);

/// <summary>Which of a take's strokes play which of the passage's, once the take's beats are known.</summary>
/// <param name="Cost">What pairs at a distance and strokes left alone cost together (<see cref="StrokeMatching"/>).</param>
internal sealed record Counterparts(IReadOnlyList<Counterpart> Pairs, IReadOnlyList<Instance> Missed, double Cost)
{
    /// <summary>A stroke on another piece counts as the same place within so many beats.</summary>
    private const double SamePlace = 0.12;

    /// <summary>What should sound farther before the take's first stroke, or after its last, was not played for, beats.</summary>
    private const double Together = 0.06;

    /// <param name="hits">The take's, sorted by time.</param>
    /// <param name="places">Where each sounds, beats from the loop's start; ascending.</param>
    public static Counterparts Find(ReferenceBars reference, IReadOnlyList<Hit> hits, double[] places)
    {
        Instance[] asked = [.. Asked(reference, places[0], places[^1])];
        int[] match = new int[asked.Length];
        bool[] used = new bool[hits.Count];
        Array.Fill(match, -1);
        foreach (PieceFamily family in Enum.GetValues<PieceFamily>())
        {
            int[] first = [.. Enumerable.Range(0, asked.Length).Where(i => reference.Strokes[asked[i].Reference].Family == family)];
            int[] second = [.. Enumerable.Range(0, hits.Count).Where(j => hits[j].Piece.Family() == family)];
            int[] pairs = StrokeMatching.Match([.. first.Select(i => asked[i].Place)], [.. second.Select(j => places[j])]);
            for (int k = 0; k < first.Length; k++)
            {
                if (pairs[k] < 0)
                    continue;
                match[first[k]] = second[pairs[k]];
                used[second[pairs[k]]] = true;
            }
        }

        OnOtherPieces(reference, asked, hits, places, match, used);
        double cost = used.Count(one => !one);
        for (int i = 0; i < asked.Length; i++)
            cost += match[i] < 0 ? 1 : Math.Pow((asked[i].Place - places[match[i]]) / StrokeMatching.Reach, 2);
        return new Counterparts(
            [.. asked.Select((one, i) => (one, i)).Where(pair => match[pair.i] >= 0).Select(pair => new Counterpart(pair.one.Reference, pair.one.Round, match[pair.i]))],
            [.. asked.Where((one, i) => match[i] < 0 && one.Place >= places[0] - Together && one.Place <= places[^1] + Together)],
            cost);
    }

    /// <summary>The passage's strokes between the take's first and last, round after round, in the order in which they should sound.</summary>
    private static IEnumerable<Instance> Asked(ReferenceBars reference, double from, double to)
    {
        int firstRound = Math.Max(0, (int)Math.Floor((from - 1) / reference.Beats));
        int lastRound = (int)Math.Floor((to + 1) / reference.Beats);
        var asked = new List<Instance>();
        for (int round = firstRound; round <= lastRound; round++)
        {
            for (int i = 0; i < reference.Strokes.Count; i++)
            {
                ReferenceStroke stroke = reference.Strokes[i];
                double place = stroke.Sounding + (round * reference.Beats);
                bool pickupLater = stroke.Place < 0 && round > firstRound;
                if (!pickupLater && place > from - StrokeMatching.Farthest && place < to + StrokeMatching.Farthest)
                    asked.Add(new Instance(i, round, place));
            }
        }

        return asked.OrderBy(one => one.Place);
    }

    /// <summary>The hand may have gone to another piece: what is left alone at one place on both sides goes together.</summary>
    private static void OnOtherPieces(ReferenceBars reference, Instance[] asked, IReadOnlyList<Hit> hits, double[] places, int[] match, bool[] used)
    {
        int from = 0;
        for (int i = 0; i < asked.Length; i++)
        {
            if (match[i] >= 0)
                continue;
            Limb limb = reference.Strokes[asked[i].Reference].Hit.Piece.PlayedBy();
            while (from < hits.Count && places[from] < asked[i].Place - SamePlace)
                from++;
            for (int j = from; j < hits.Count && places[j] <= asked[i].Place + SamePlace; j++)
            {
                if (used[j] || hits[j].Piece.PlayedBy() != limb)
                    continue;
                (match[i], used[j]) = (j, true);
                break;
            }
        }
    }
}
