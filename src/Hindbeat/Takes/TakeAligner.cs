using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Units;

namespace Hindbeat.Takes;

/// <summary>
/// Lays a take on the passage that it copies, bar by bar and stroke by stroke: any tempo, many times round, with strokes
/// missed, added, moved or played on another piece.
/// </summary>
/// <remarks>
/// First guess: every way in which the take's own beats may count the passage's, shifted through the loop, judged by how
/// many strokes meet one of their family. The best few are then aligned stroke by stroke and the take's beats are fitted
/// anew through what was found, in turns.
/// </remarks>
public static class TakeAligner
{
    /// <summary>Starts that are laid stroke by stroke, and the best of them that are followed.</summary>
    private const int StartsLaid = 16, StartsFollowed = 5;

    private const int Turns = 3;

    /// <summary>A start that leaves so much more over than the best is not followed: fitting beats anew gains a few hundredths.</summary>
    private const double Hopeless = 0.15;

    /// <summary>A take that starts where the passage starts is believed before one that starts in another bar and fits this little better.</summary>
    private const double StartBonus = 0.005;

    /// <summary>A take whose first or last stroke lies so near a round's end may have been meant to start or end there, beats.</summary>
    private const double NearRoundsEnd = 0.5;

    /// <summary>A stroke moved farther than this is one left out and one added.</summary>
    private const double FarthestMove = 0.6;

    /// <summary>Delays that a take on a click is read at while its own is unknown, seconds; the usual one is believed first.</summary>
    private const double EarliestDelay = -0.04, LatestDelay = 0.2, DelayStep = 0.01, UsualDelay = 0.06;

    /// <summary>Laid at its best, an invented funk passage meets less than this of the strokes of a waltz that it has nothing to do with.</summary>
    private const double LeastShare = 0.4;
    private const double GoodShare = 0.6;
    private const double LeastBars = 4;

    /// <param name="reference">The passage, with written places.</param>
    /// <param name="hits">The take's strokes, any order, on the take's own time axis.</param>
    /// <param name="click">The pulse that the take was played to, its bar 1 on the passage's first; null = it is found.</param>
    /// <param name="latency">The known delay of a take on a click; null = unknown, strokes are read at the delay that fits best.</param>
    /// <exception cref="InputException">Too few strokes, or the take has nothing to do with the passage.</exception>
    public static AlignedTake Align(Performance reference, IReadOnlyList<Hit> hits, Pulse? click = null, Latency? latency = null)
    {
        ArgumentNullException.ThrowIfNull(reference);
        ArgumentNullException.ThrowIfNull(hits);
        var bars = new ReferenceBars(reference);
        Hit[] sorted = [.. hits.OrderBy(hit => hit.Time).ThenBy(hit => hit.Piece)];
        if (sorted.Length < PulseFinder.FewestHits)
            throw new InputException($"The take has {sorted.Length} strokes; at least {PulseFinder.FewestHits} are needed to lay it on the passage.");
        Laid best = click is null ? InItsBar(bars, Likeliest(bars, sorted)) : OnClick(bars, sorted, click, latency);
        if (best.Share < LeastShare)
            throw new InputException(FormattableString.Invariant($"This take does not play the passage: only {100 * best.Share:0} % of the strokes of both go together. Is it the right passage, and the right part of the recording?"));
        return Finish(bars, WithoutFar(bars, WholeRounds(bars, best)));
    }

    private static Laid Likeliest(ReferenceBars bars, Hit[] hits)
    {
        Laid[] laid = [.. Starts(bars, hits).Select(pulse => Lay(bars, hits, pulse)).OrderBy(start => start.Misfit).Take(StartsFollowed)];
        return laid.TakeWhile(start => start.Misfit <= laid[0].Misfit + Hopeless).Select(start => Follow(bars, start)).MinBy(start => start.Misfit)!;
    }

    /// <summary>The take's beats in the passage's count, for each likely start: by the pulse that its strokes show, and by steady tempi.</summary>
    private static IEnumerable<Pulse> Starts(ReferenceBars bars, Hit[] hits)
    {
        Pulse own = PulseFinder.Find(hits, null, new PulseOptions()).Performance.Pulse;
        double[] beats = [.. hits.Select(hit => own.BeatsAt(hit.Time))];
        foreach (TakeStart start in TakeStart.Find(bars, hits, beats, StartsLaid))
            yield return PulseOf(bars, hits, place => own.TimeAt((place - start.Shift) / start.Scale).TotalSeconds, time => (start.Scale * own.BeatsAt(time)) + start.Shift, PulseSource.Tracked);
        foreach (TakeStart start in TakeStart.AtSteadyTempo(bars, hits, StartsFollowed))
            yield return PulseOfBars(bars, TakeFollower.Bars(bars, hits, start, out int firstBar), firstBar);
    }

    /// <summary>Beats evenly between bar lines.</summary>
    private static Pulse PulseOfBars(ReferenceBars bars, List<double> times, int firstBar)
    {
        int perBar = bars.Meter.BeatsPerBar;
        var beats = new List<Beat>();
        for (int i = 0; i < times.Count - 1; i++)
        {
            for (int k = 0; k < perBar; k++)
                beats.Add(new Beat(AudioTime.FromSeconds(times[i] + ((times[i + 1] - times[i]) * k / perBar)), bars.FirstBar + firstBar + i, k + 1));
        }

        beats.Add(new Beat(AudioTime.FromSeconds(times[^1]), bars.FirstBar + firstBar + times.Count - 1, 1));
        return new Pulse(bars.Meter, beats, 1, PulseSource.Tracked);
    }

    /// <summary>Strokes are read as if recorded without delay; their times stay as recorded.</summary>
    private static Laid OnClick(ReferenceBars bars, Hit[] hits, Pulse click, Latency? latency)
    {
        Pulse wide = Widened(bars, hits, click);
        if (latency is not null)
            return Lay(bars, hits, wide, latency.Delay.Value);
        Laid? best = null;
        double least = double.PositiveInfinity;
        for (double delay = EarliestDelay; delay <= LatestDelay; delay += DelayStep)
        {
            Laid laid = Lay(bars, hits, wide, delay);
            double cost = laid.Found.Cost + (delay * delay / (UsualDelay * UsualDelay));
            if (cost < least)
                (best, least) = (laid, cost);
        }

        return best!;
    }

    /// <summary>A click's beats, carried on as far as there are strokes.</summary>
    private static Pulse Widened(ReferenceBars bars, Hit[] hits, Pulse click)
    {
        double loop = click.BeatsFromFirst(new BarPosition(bars.FirstBar, 1, Fraction.Zero)).ToDouble();
        return PulseOf(bars, hits, place => click.TimeAt(place + loop).TotalSeconds, time => click.BeatsAt(time) - loop, PulseSource.Click);
    }

    /// <summary>Whole bars from the first stroke's to the last one's, numbered on from the loop's first bar.</summary>
    private static Pulse PulseOf(ReferenceBars bars, Hit[] hits, Func<double, double> timeAt, Func<AudioTime, double> placeAt, PulseSource source)
    {
        int perBar = bars.Meter.BeatsPerBar;
        int firstBar = (int)Math.Floor((placeAt(hits[0].Time) + StrokeMatching.Farthest) / perBar);
        int lastBar = (int)Math.Floor((placeAt(hits[^1].Time) + StrokeMatching.Farthest) / perBar);
        var beats = new List<Beat>();
        for (int place = firstBar * perBar; place <= (lastBar + 1) * perBar; place++)
            beats.Add(new Beat(AudioTime.FromSeconds(timeAt(place)), bars.FirstBar + (int)Math.Floor((double)place / perBar), 1 + (((place % perBar) + perBar) % perBar)));
        return new Pulse(bars.Meter, beats, 1, source);
    }

    /// <summary>The take's beats fitted anew through the strokes that were found, in turns.</summary>
    private static Laid Follow(ReferenceBars bars, Laid laid)
    {
        for (int turn = 0; turn < Turns && laid.Pairs.Count >= PulseFinder.FewestHits && laid.Share >= LeastShare; turn++)
            laid = Lay(bars, laid.Hits, GivenPlaces.Retime(new Performance(laid.Pulse, PlacedByPairs(bars, laid))).Pulse);
        return laid;
    }

    /// <summary>
    /// Every other bar of the loop that the take might start in: in a groove of one bar all starts look alike until each stroke is laid, and the right
    /// one may not have been among the few that were.
    /// </summary>
    private static Laid InItsBar(ReferenceBars bars, Laid laid)
    {
        int perBar = bars.Meter.BeatsPerBar;
        Laid best = laid;
        for (int shift = perBar; shift < bars.Beats; shift += perBar)
        {
            Laid other = Lay(bars, laid.Hits, laid.Pulse, laid.Delay, shift);
            if (Worth(other) < Worth(best))
                best = other;
        }

        return best == laid ? laid : Follow(bars, Lay(bars, laid.Hits, Renumbered(bars, best)));

        double Worth(Laid one) => one.Misfit - (RoundsEnd(bars, one.Places[0]) is not null ? StartBonus : 0);
    }

    /// <summary>The pulse that says of a shifted take what its places say.</summary>
    private static Pulse Renumbered(ReferenceBars bars, Laid laid)
    {
        double round = Math.Floor((laid.Places[0] + NearRoundsEnd) / bars.Beats) * bars.Beats, unshifted = laid.Pulse.BeatsAt(laid.Hits[0].Time) - laid.Places[0] + round;
        return PulseOf(bars, laid.Hits, place => laid.Pulse.TimeAt(place + unshifted).TotalSeconds, time => laid.Pulse.BeatsAt(time) - unshifted, PulseSource.Tracked);
    }

    /// <summary>
    /// Whether the take was played from a round's start or to its end: near a round's end its last stroke and the first of the next
    /// are a breath apart, and time alone would pair the one with the other.
    /// </summary>
    private static Laid WholeRounds(ReferenceBars bars, Laid laid)
    {
        double? start = RoundsEnd(bars, laid.Places[0]), end = RoundsEnd(bars, laid.Places[^1]);
        Laid best = laid;
        foreach (Span span in new[] { new Span(start, null), new Span(null, end), new Span(start, end) })
        {
            if (span == default)
                continue;
            Laid whole = laid with { Found = Counterparts.Find(bars, laid.Hits, laid.Places, span) };
            if (whole.Found.Cost <= best.Found.Cost)
                best = whole;
        }

        return best;
    }

    private static double? RoundsEnd(ReferenceBars bars, double place)
    {
        double round = Math.Round(place / bars.Beats) * bars.Beats;
        return Math.Abs(place - round) <= NearRoundsEnd ? round : null;
    }

    /// <summary>Pairs that lie too far apart to be one stroke are undone: what is left on both sides may be one that was moved.</summary>
    private static Laid WithoutFar(ReferenceBars bars, Laid laid)
    {
        bool[] far = FarPairs.Of(bars, laid.Pairs, laid.Places);
        Counterpart[] undone = [.. laid.Pairs.Where((_, i) => far[i])];
        if (undone.Length == 0)
            return laid;
        return laid with
        {
            Found = laid.Found with
            {
                Pairs = [.. laid.Pairs.Where((_, i) => !far[i])],
                Missed = [.. laid.Found.Missed.Concat(undone.Select(pair => bars.InRound(pair.Reference, pair.Round))).OrderBy(one => one.Place)],
                OtherPieces = laid.Found.OtherPieces - undone.Count(pair => bars.Strokes[pair.Reference].Family != laid.Hits[pair.Take].Piece.Family()),
            },
        };
    }

    /// <param name="delay">Seconds by which strokes are read earlier than they were recorded.</param>
    /// <param name="shift">Beats by which strokes are read farther on in the loop than the pulse numbers them.</param>
    private static Laid Lay(ReferenceBars bars, Hit[] hits, Pulse pulse, double delay = 0, double shift = 0)
    {
        double start = pulse.BeatsFromFirst(new BarPosition(bars.FirstBar, 1, Fraction.Zero)).ToDouble() - shift;
        double[] places = [.. hits.Select(hit => pulse.BeatsAt(hit.Time - Seconds.Of(delay)) - start)];
        return new Laid(hits, pulse, delay, places, Counterparts.Find(bars, hits, places));
    }

    private static Hit[] PlacedByPairs(ReferenceBars bars, Laid laid)
    {
        var position = new BarPosition?[laid.Hits.Length];
        foreach (Counterpart pair in laid.Pairs)
            position[pair.Take] = bars.PositionIn(pair.Round, bars.Strokes[pair.Reference].Hit.Position!.Value);
        return [.. laid.Hits.Select((hit, i) => hit with { Position = position[i] })];
    }

    private static AlignedTake Finish(ReferenceBars bars, Laid laid)
    {
        Hit[] placed = PlacedByPairs(bars, laid);
        IReadOnlyList<Hit> written = PulseFinder.PlaceOn(laid.Pulse, [.. laid.Hits.Select(hit => hit with { Time = hit.Time - Seconds.Of(laid.Delay) })]).Performance.Hits;
        for (int i = 0; i < placed.Length; i++)
        {
            if (placed[i].Position is null)
                placed[i] = placed[i] with { Position = written[i].Position };
        }

        var performance = new Performance(laid.Pulse, placed);
        Performance original = bars.Performance;
        PairedStroke[] pairs = [.. laid.Pairs.OrderBy(pair => pair.Take).Select(pair => Paired(pair))];
        bool[] used = new bool[placed.Length];
        foreach (Counterpart pair in laid.Pairs)
            used[pair.Take] = true;
        (List<MovedStroke> moved, List<Instance> missed) = Moves(bars, laid, placed, used);
        double beatRatio = original.Pulse.MeanTempo.Beat / laid.Pulse.MeanTempo.Beat;
        double takeBars = (laid.Places[^1] - laid.Places[0]) / bars.Meter.BeatsPerBar;
        List<Doubt> doubts = [];
        if (laid.Share < GoodShare)
            doubts.Add(new TakeDiffersMuch(laid.Share));
        if (takeBars < LeastBars - 0.3)
            doubts.Add(new TakeIsShort(takeBars));
        return new AlignedTake(
            performance, pairs,
            [.. missed.Select(one => new MissedStroke(bars.Strokes[one.Reference].Hit, one.Round, bars.PositionIn(one.Round, bars.Strokes[one.Reference].Hit.Position!.Value)))],
            [.. placed.Where((_, i) => !used[i])],
            moved,
            laid.Pairs.Count == 0 ? 0 : laid.Pairs.Select(pair => pair.Round).Distinct().Count(),
            beatRatio, doubts);

        PairedStroke Paired(Counterpart pair)
        {
            Hit from = bars.Strokes[pair.Reference].Hit;
            Seconds played = placed[pair.Take].Time - laid.Pulse.TimeAt(placed[pair.Take].Position!.Value);
            return new PairedStroke(from, placed[pair.Take], pair.Round, played - original.Pulse.DeviationOf(from)!.Value);
        }
    }

    /// <summary>What was left out and what was added on the same family nearby is one stroke that was moved.</summary>
    private static (List<MovedStroke> Moved, List<Instance> Missed) Moves(ReferenceBars bars, Laid laid, Hit[] placed, bool[] used)
    {
        var moved = new List<MovedStroke>();
        var missed = new List<Instance>();
        foreach (Instance one in laid.Found.Missed)
        {
            ReferenceStroke stroke = bars.Strokes[one.Reference];
            int nearest = -1;
            double least = FarthestMove;
            for (int i = 0; i < placed.Length; i++)
            {
                double apart = laid.Places[i] - one.Place;
                if (!used[i] && placed[i].Piece.Family() == stroke.Family && Math.Abs(apart) < Math.Abs(least))
                    (nearest, least) = (i, apart);
            }

            if (nearest < 0)
            {
                missed.Add(one);
                continue;
            }

            used[nearest] = true;
            moved.Add(new MovedStroke(stroke.Hit, placed[nearest], one.Round, least));
        }

        return (moved, missed);
    }

    private sealed record Laid(Hit[] Hits, Pulse Pulse, double Delay, double[] Places, Counterparts Found)
    {
        public IReadOnlyList<Counterpart> Pairs => Found.Pairs;

        /// <summary>Share of the strokes on both sides that have a counterpart, one on another piece counting half.</summary>
        public double Share => ((2.0 * Pairs.Count) - Found.OtherPieces) / (Hits.Length + Pairs.Count + Found.Missed.Count);

        /// <summary>What distances and strokes left alone cost, a stroke of either side: 0 = all at their places, 1 = nothing goes together.</summary>
        public double Misfit => Found.Cost / (Hits.Length + Pairs.Count + Found.Missed.Count);
    }
}
