using Hindbeat.Performances;

namespace Hindbeat.Takes;

/// <summary>A stroke of the passage and the take's stroke for it, by index.</summary>
internal readonly record struct Counterpart(int Reference, int Round, int Take);

/// <summary>A stroke of the passage in one round.</summary>
/// <param name="Place">Where it should sound, beats from the take's loop start.</param>
/// <param name="Written">Where it is written, likewise.</param>
internal readonly record struct Instance(int Reference, int Round, double Place, double Written);

/// <summary>Written places between which a take was played, beats from its loop start; null = as far as its strokes go.</summary>
/// <param name="From">Included.</param>
/// <param name="To">Not included.</param>
internal readonly record struct Span(double? From, double? To)
{
    public bool Holds(double written) => !(written < From) && !(written >= To);
}

/// <summary>Which of a take's strokes play which of the passage's, once the take's beats are known.</summary>
/// <param name="Cost">What pairs at a distance and strokes left alone cost together (<see cref="StrokeMatching"/>).</param>
/// <param name="OtherPieces">How many of the pairs are on pieces of another family.</param>
internal sealed record Counterparts(IReadOnlyList<Counterpart> Pairs, IReadOnlyList<Instance> Missed, double Cost, int OtherPieces)
{
    /// <summary>
    /// A pair on another piece costs half a stroke left alone: the hand may go to another cymbal, but three even strokes of any
    /// groove also play any waltz.
    /// </summary>
    private const double OtherPiece = 0.5;

    /// <summary>A stroke on another piece counts as the same place within so many beats.</summary>
    private const double SamePlace = 0.12;

    /// <param name="hits">The take's, sorted by time.</param>
    /// <param name="places">Where each sounds, beats from the loop's start; ascending.</param>
    public static Counterparts Find(ReferenceBars reference, IReadOnlyList<Hit> hits, double[] places, Span span = default)
    {
        Instance[] asked = [.. Asked(reference, places[0], places[^1], span)];
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

        ByWrittenPlace(reference, asked, hits, places, match, used);
        OnOtherPieces(reference, asked, hits, places, match, used);
        Counterpart[] paired = [.. asked.Select((one, i) => (one, i)).Where(pair => match[pair.i] >= 0).Select(pair => new Counterpart(pair.one.Reference, pair.one.Round, match[pair.i]))];
        Instance[] missed = [.. LeftOut(asked, match, span)];
        int others = paired.Count(pair => reference.Strokes[pair.Reference].Family != hits[pair.Take].Piece.Family());
        double cost = used.Count(one => !one) + missed.Length + (OtherPiece * others);
        for (int i = 0; i < asked.Length; i++)
            cost += match[i] < 0 ? 0 : Math.Pow((asked[i].Place - places[match[i]]) / StrokeMatching.Reach, 2);
        return new Counterparts(paired, missed, cost, others);
    }

    /// <summary>What is written before the first stroke that was played, or after the last, was not played for, unless the span says so.</summary>
    private static IEnumerable<Instance> LeftOut(Instance[] asked, int[] match, Span span)
    {
        double first = double.PositiveInfinity, last = double.NegativeInfinity;
        for (int i = 0; i < asked.Length; i++)
        {
            if (match[i] >= 0)
                (first, last) = (Math.Min(first, asked[i].Written), Math.Max(last, asked[i].Written));
        }

        (first, last) = (span.From ?? first, span.To ?? last);
        return asked.Where((one, i) => match[i] < 0 && one.Written >= first && one.Written <= last);
    }

    /// <summary>The passage's strokes between the take's first and last, round after round, in the order in which they should sound.</summary>
    private static IEnumerable<Instance> Asked(ReferenceBars reference, double from, double to, Span span)
    {
        int firstRound = Math.Max(0, (int)Math.Floor((from - 1) / reference.Beats));
        int lastRound = (int)Math.Floor((to + 1) / reference.Beats);
        var asked = new List<Instance>();
        for (int round = firstRound; round <= lastRound; round++)
        {
            for (int i = 0; i < reference.Strokes.Count; i++)
            {
                Instance one = reference.InRound(i, round);
                bool pickupLater = reference.Strokes[i].Place < 0 && round > firstRound;
                bool near = (span.From is not null || one.Place > from - StrokeMatching.Farthest) && (span.To is not null || one.Place < to + StrokeMatching.Farthest);
                if (!pickupLater && near && span.Holds(one.Written))
                    asked.Add(one);
            }
        }

        return asked.OrderBy(one => one.Place);
    }

    /// <summary>
    /// Chance in the passage and chance in the take may lie far apart: what is left alone on both sides goes together, too, where the take's
    /// stroke is near the place that is written.
    /// </summary>
    private static void ByWrittenPlace(ReferenceBars reference, Instance[] asked, IReadOnlyList<Hit> hits, double[] places, int[] match, bool[] used)
    {
        for (int i = 0; i < asked.Length; i++)
        {
            if (match[i] >= 0)
                continue;
            int nearest = -1;
            double least = StrokeMatching.Farthest;
            int from = Array.BinarySearch(places, asked[i].Written - StrokeMatching.Farthest);
            for (int j = from < 0 ? ~from : from; j < hits.Count && places[j] <= asked[i].Written + StrokeMatching.Farthest; j++)
            {
                if (!used[j] && hits[j].Piece.Family() == reference.Strokes[asked[i].Reference].Family && Math.Abs(places[j] - asked[i].Written) < least)
                    (nearest, least) = (j, Math.Abs(places[j] - asked[i].Written));
            }

            if (nearest >= 0)
                (match[i], used[nearest]) = (nearest, true);
        }
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
