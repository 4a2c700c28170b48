using System.Globalization;
using Hindbeat.Charting;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Units;

namespace Hindbeat.Accuracy;

/// <summary>
/// Is the chart's rhythm the one a person would read off the take's own click? A dumb reading that knows nothing
/// of ours: the take as a whole lies on 16ths or on 16th triplets, whichever its strokes are nearer to (as a share of
/// the grid's step) once its mean lag behind the click is taken off, and each stroke goes to the nearest place. What
/// a take plays finer than its grid (rolls in 32nds, a few triplets in a straight take) counts against us here.
/// </summary>
/// <remarks>
/// Strokes written elsewhere are told apart: on a division that the take's one grid does not have (finer); in a beat whose
/// written division has no place where the stroke is nearest (coarser: a lone 16th among eighths); on another place of the
/// same division. "Nearer as written" counts those that were played nearer to where they are written than to the take's one grid. A shuffle lies on triplets but is written in
/// straight notes: one more column reads takes whose off-beats are nearly all the last triplet like that. "As placed" compares the chart with the places that the pulse gave on the same click: what the chart itself adds
/// or loses. "As likeliest" compares it with <see cref="LikeliestReading"/>, over all strokes and over those whose place that reading is sure of (90 %); "expects" is the mean chance of its places, what a perfect reader would reach if its model is right. A beat written in tuplets is the take's own when its strokes lie nearer to triplet places than to 16ths.
/// </remarks>
internal static class WrittenRhythmReport
{
    private static readonly int[] Divisions = [4, 6];

    /// <summary>A kit's and a drummer's lag behind the click is tried in steps of so much of a beat, up to half a step of the grid: a larger one is another place.</summary>
    private const double LagStep = 1.0 / 240;

    /// <summary>A take on triplets whose off-beats lie so nearly all on the last triplet is a shuffle, and a person writes it in straight eighths (or sixteenths) with "swing" above.</summary>
    private const double ShuffleShare = 0.8;

    /// <summary>A likeliest place of less chance decides nothing: two writings explain the stroke.</summary>
    private const double Sure = 0.9;

    public static void Print(TextWriter output, IReadOnlyList<GrooveTakes.Take> takes)
    {
        var table = new Table("take", "strokes", "as nearest", "finer", "coarser", "other place", "nearer as written", "as nearest, shuffles in straight notes", "as placed", "as likeliest", "likeliest expects", "likeliest is sure", "as likeliest where sure", "nearest as likeliest where sure", "grid", "tuplet beats", "of them nearer to triplets");
        int strokes = 0;
        int same = 0;
        int asPlaced = 0;
        int nearerAsWritten = 0;
        int sameStraight = 0;
        int likely = 0;
        double expected = 0;
        int sure = 0;
        int likelyWhereSure = 0;
        int nearestWhereSure = 0;
        var kinds = new int[3];
        int tuplets = 0;
        int own = 0;
        foreach (GrooveTakes.Take take in takes)
        {
            KitMidi midi = KitMidiFile.Read(take.Path);
            Performance performance = PulseFinder.PlaceOn(midi.Grid, midi.Hits).Performance;
            Chart chart = ChartMaker.Make(performance, null, new ChartOptions { Title = take.Name });
            Dictionary<int, Fraction> written = Written(chart, performance);
            Dictionary<int, (int Division, Fraction Place, double Played)> nearest = Nearest(performance);
            int equal = written.Count(pair => nearest[pair.Key].Place == pair.Value);
            int placed = written.Count(pair => performance.Hits[pair.Key].Position is { } position && performance.Pulse.BeatsFromFirst(position) == pair.Value);
            int[] elsewhere = Elsewhere(written, nearest);
            int nearerHere = written.Count(pair => Math.Abs(nearest[pair.Key].Played - pair.Value.ToDouble()) < Math.Abs(nearest[pair.Key].Played - nearest[pair.Key].Place.ToDouble()));
            Func<Fraction, Fraction> straightened = Straightened(nearest);
            int equalStraight = written.Count(pair => straightened(nearest[pair.Key].Place) == pair.Value);
            (Fraction Place, double Chance)[] likeliest = LikeliestReading.Of(performance);
            int asLikeliest = written.Count(pair => likeliest[pair.Key].Place == pair.Value);
            int[] decided = [.. written.Keys.Where(stroke => likeliest[stroke].Chance >= Sure)];
            int asSure = decided.Count(stroke => likeliest[stroke].Place == written[stroke]);
            int nearestAsSure = decided.Count(stroke => likeliest[stroke].Place == nearest[stroke].Place);
            double expects = written.Keys.Sum(stroke => likeliest[stroke].Chance);
            expected += expects;
            likely += asLikeliest;
            sure += decided.Length;
            likelyWhereSure += asSure;
            nearestWhereSure += nearestAsSure;
            HashSet<long> tupletBeats = [.. written.Where(pair => (pair.Value.Denominator & (pair.Value.Denominator - 1)) != 0).Select(pair => pair.Value.Floor())];
            if (chart.Meter.IsCompound)
                tupletBeats.Clear();
            strokes += written.Count;
            same += equal;
            asPlaced += placed;
            nearerAsWritten += nearerHere;
            sameStraight += equalStraight;
            for (int kind = 0; kind < kinds.Length; kind++)
                kinds[kind] += elsewhere[kind];
            int nearer = tupletBeats.Count(beat => IsNearerToTriplets(beat, written, nearest));
            tuplets += tupletBeats.Count;
            own += nearer;
            table.Add(
                take.Name, Whole(written.Count), Share(equal), Share(elsewhere[0]), Share(elsewhere[1]), Share(elsewhere[2]), Share(nearerHere), Share(equalStraight), Share(placed),
                Share(asLikeliest), Table.Share(expects / written.Count), Share(decided.Length), Table.Share((double)asSure / decided.Length), Table.Share((double)nearestAsSure / decided.Length),
                nearest.Values.First().Division == 6 ? "triplets" : "16ths", Whole(tupletBeats.Count), Whole(nearer));

            string Share(int part) => Table.Share((double)part / written.Count);
        }

        string All(int part) => Table.Share((double)part / strokes);
        table.Add("all", Whole(strokes), All(same), All(kinds[0]), All(kinds[1]), All(kinds[2]), All(nearerAsWritten), All(sameStraight), All(asPlaced), All(likely), Table.Share(expected / strokes), All(sure), Table.Share((double)likelyWhereSure / sure), Table.Share((double)nearestWhereSure / sure), string.Empty, Whole(tuplets), Whole(own));
        output.WriteLine("## Written rhythm");
        output.WriteLine();
        output.WriteLine(table);
    }

    /// <summary>Beats from the pulse's first beat of every written stroke, graces with their notes left out.</summary>
    private static Dictionary<int, Fraction> Written(Chart chart, Performance performance)
    {
        var places = new Dictionary<int, Fraction>();
        foreach (ChartBar bar in chart.Bars)
        {
            Fraction start = performance.Pulse.BeatsFromFirst(new BarPosition(bar.Number, 1, Fraction.Zero));
            foreach (ChartEvent happening in bar.Voices.SelectMany(voice => voice.Events))
            {
                foreach (ChartNote note in happening.Notes)
                    places[note.Hit] = start + (happening.At / chart.Meter.BeatLength);
            }
        }

        return places;
    }

    private static Dictionary<int, (int Division, Fraction Place, double Played)> Nearest(Performance performance)
    {
        double[] beats = [.. performance.Hits.Select(hit => performance.Pulse.BeatsAt(hit.Time))];
        (double Cost, int Division, double Lag) best = (double.PositiveInfinity, 0, 0);
        foreach (int division in Divisions)
        {
            for (double lag = -0.5 / division; lag <= 0.5 / division; lag += LagStep)
            {
                double cost = beats.Average(beat => Math.Pow(Miss(beat - lag, division) * division, 2));
                if (cost < best.Cost)
                    best = (cost, division, lag);
            }
        }

        return beats.Select((beat, i) => (i, place: Fraction.Nearest(beat - best.Lag, best.Division), played: beat - best.Lag))
            .ToDictionary(pair => pair.i, pair => (best.Division, pair.place, pair.played));
    }

    /// <summary>How a place of the take's one grid is written: in a shuffle of eighths the last triplet is the "and", in one of sixteenths the last of each half beat's triplet is its second sixteenth.</summary>
    private static Func<Fraction, Fraction> Straightened(Dictionary<int, (int Division, Fraction Place, double Played)> nearest)
    {
        if (nearest.Values.First().Division != 6)
            return place => place;
        int[] count = new int[6];
        foreach ((_, Fraction place, _) in nearest.Values)
            count[(int)((place - new Fraction(place.Floor())) * new Fraction(6)).Floor()]++;
        (int Sixth, Fraction Written)[] moved = [];
        if (count[4] >= ShuffleShare * count.Skip(1).Sum())
            moved = [(4, new Fraction(1, 2))];
        else if (count[2] + count[5] >= ShuffleShare * (count.Skip(1).Sum() - count[3]))
            moved = [(2, new Fraction(1, 4)), (5, new Fraction(3, 4))];
        return place =>
        {
            Fraction beat = new(place.Floor());
            int sixth = (int)((place - beat) * new Fraction(6)).Floor();
            foreach ((int from, Fraction written) in moved)
            {
                if (from == sixth)
                    return beat + written;
            }

            return place;
        };
    }

    /// <summary>How many strokes are written finer, coarser and otherwise elsewhere than they are nearest.</summary>
    private static int[] Elsewhere(Dictionary<int, Fraction> written, Dictionary<int, (int Division, Fraction Place, double Played)> nearest)
    {
        var kinds = new int[3];
        ILookup<long, Fraction> byBeat = written.Values.ToLookup(place => place.Floor());
        foreach ((int stroke, Fraction place) in written)
        {
            (int division, Fraction near, _) = nearest[stroke];
            if (near == place)
                continue;
            long beatDivision = byBeat[place.Floor()].Aggregate(1L, (common, each) => common * each.Denominator / (long)System.Numerics.BigInteger.GreatestCommonDivisor(common, each.Denominator));
            kinds[division % place.Denominator != 0 ? 0 : beatDivision % near.Denominator != 0 ? 1 : 2]++;
        }

        return kinds;
    }

    private static bool IsNearerToTriplets(long beat, Dictionary<int, Fraction> written, Dictionary<int, (int Division, Fraction Place, double Played)> nearest)
    {
        double[] played = [.. written.Where(pair => pair.Value.Floor() == beat).Select(pair => nearest[pair.Key].Played)];
        return played.Sum(place => Miss(place, 6) * 6) < played.Sum(place => Miss(place, 4) * 4);
    }

    private static double Miss(double beats, int division) => Math.Abs(beats - (Math.Round(beats * division) / division));

    private static string Whole(int number) => number.ToString(CultureInfo.InvariantCulture);
}
