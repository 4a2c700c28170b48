using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Rebuilding;
using Hindbeat.Takes;
using Hindbeat.Units;

namespace Hindbeat.Tests.Takes;

/// <summary>Takes of an invented passage changed in known ways; the truth of each change is exact.</summary>
public class TakeAlignerTests
{
    [Theory]
    [InlineData(1, 1.0)]
    [InlineData(3, 1.06)]
    [InlineData(2, 0.8)]
    [InlineData(2, 1.6)]
    public void Every_stroke_finds_its_own_at_any_tempo_and_number_of_rounds(int rounds, double slower)
    {
        AlignedTake take = TakeAligner.Align(ChangedTake.Passage, ChangedTake.Play(rounds, 5, slower: slower));
        Assert.Empty(take.Missed);
        Assert.Empty(take.Moved);
        Assert.Empty(take.Extra);
        Assert.Equal(rounds * ChangedTake.Passage.Hits.Count, take.Pairs.Count);
        Assert.Equal(rounds, take.Rounds);
        Assert.InRange(take.TempoRatio, 0.99 / slower, 1.01 / slower);
        Assert.All(take.Pairs, pair => Assert.Equal(pair.Reference.Position!.Value.Within, pair.Take.Position!.Value.Within));
        Assert.All(take.Pairs, pair => Assert.Equal(pair.Reference.Position!.Value.Bar + (8 * pair.Round), pair.Take.Position!.Value.Bar));
    }

    [Fact]
    public void Strokes_left_out_added_and_moved_are_named()
    {
        List<Hit> hits = ChangedTake.Play(2, 6);
        Hit[] kicks = [.. hits.Where(hit => hit.Piece == KitPiece.Kick)];
        hits.Remove(kicks[3]);
        hits.Remove(kicks[9]);
        Hit[] snares = [.. hits.Where(hit => hit.Piece == KitPiece.Snare && hit.Velocity > 90)];
        hits[hits.IndexOf(snares[2])] = snares[2] with { Time = snares[2].Time + Seconds.Of(0.5 * 60 / 92) };
        Hit crash = hits[0] with { Piece = KitPiece.Crash };
        hits.Add(crash);
        AlignedTake take = TakeAligner.Align(ChangedTake.Passage, hits);
        Assert.Equal(2, take.Missed.Count);
        Assert.All(take.Missed, one => Assert.Equal(KitPiece.Kick, one.Reference.Piece));
        MovedStroke moved = Assert.Single(take.Moved);
        Assert.Equal(KitPiece.Snare, moved.Reference.Piece);
        Assert.Equal(0.5, moved.Beats, 1);
        Assert.Equal(KitPiece.Crash, Assert.Single(take.Extra).Piece);
    }

    /// <summary>tests/data/takes: every bar is nearly every other, and invented ones, sixty of them, never went wrong.</summary>
    [Fact]
    public void A_take_of_a_groove_of_one_bar_is_laid_in_its_own_bars()
    {
        KitMidi midi = KitMidiFile.Read(Path.Combine(LayerTests.RepositoryRoot(), "tests", "data", "takes", "4_hiphop_90_beat_4-4.mid"));
        Performance whole = PulseFinder.PlaceOn(midi.Grid, midi.Hits).Performance;
        Pulse pulse = new(whole.Meter, [.. whole.Pulse.Beats.Where(beat => beat.Bar is >= 2 and < 10)], 1, PulseSource.Click);
        var passage = new Performance(pulse, whole.Hits.Where(hit => hit.Position is { Bar: >= 2 and < 10 }));
        Hit[] played = [.. Enumerable.Range(0, 4).SelectMany(round => passage.Hits.Select(hit => hit with { Time = hit.Time + (pulse.MeanTempo.Beat * (32 * round)), Position = null }))];
        AlignedTake take = TakeAligner.Align(passage, played);
        Assert.Empty(take.Missed);
        Assert.Empty(take.Extra);
        Assert.Equal(4, take.Rounds);
        // A pulse through the strokes and a click may lie apart, all through by the same.
        double apart = take.Pairs.Average(pair => pair.Later.Milliseconds);
        Assert.All(take.Pairs, pair => Assert.InRange(pair.Later.Milliseconds - apart, -1, 1));
    }

    /// <summary>Another fill is no loose copy of the passage's: a stroke most of a 16th away from any of the passage's is added, and the passage's is missing or moved.</summary>
    [Fact]
    public void Strokes_of_another_fill_are_not_taken_for_the_passages_own()
    {
        List<Hit> hits = ChangedTake.Play(4, 8, Dials.AsPlayed with { Looseness = 0 });
        int[] kicks = [.. Enumerable.Range(0, hits.Count).Where(i => hits[i].Piece == KitPiece.Kick)];
        double beat = ChangedTake.Passage.Pulse.MeanTempo.Beat.Value;
        foreach (int i in kicks.Where((_, k) => k % 9 == 4))
            hits[i] = hits[i] with { Time = hits[i].Time + Seconds.Of(0.2 * beat) };
        AlignedTake take = TakeAligner.Align(ChangedTake.Passage, hits);
        Assert.Equal(kicks.Where((_, k) => k % 9 == 4).Count(), take.Moved.Count + take.Missed.Count);
        Assert.All(take.Pairs, pair => Assert.InRange(Math.Abs(pair.Later.Value) / beat, 0, 0.15));
    }

    [Fact]
    public void A_take_that_starts_in_the_middle_is_laid_where_it_belongs()
    {
        AudioTime from = ChangedTake.Passage.Pulse.TimeAt(new BarPosition(4, 1, Fraction.Zero));
        double shift = 0.9 - ChangedTake.Passage.Pulse.TimeAt(0.0).TotalSeconds;
        Hit[] hits = [.. ChangedTake.Play(1, 7).Where(hit => hit.Time.TotalSeconds > from.TotalSeconds + shift - 0.05)];
        AlignedTake take = TakeAligner.Align(ChangedTake.Passage, hits);
        Assert.Empty(take.Missed);
        Assert.Equal(hits.Length, take.Pairs.Count);
        Assert.Equal(4, take.Pairs[0].Take.Position!.Value.Bar);
    }

    [Fact]
    public void The_hand_on_another_cymbal_plays_the_same_strokes()
    {
        List<Hit> hits = [.. ChangedTake.Play(2, 8).Select(hit => hit.Piece == KitPiece.HatClosed ? hit with { Piece = KitPiece.Ride } : hit)];
        AlignedTake take = TakeAligner.Align(ChangedTake.Passage, hits);
        Assert.Equal(hits.Count, take.Pairs.Count);
        Assert.Equal(hits.Count(hit => hit.Piece == KitPiece.Ride), take.Pairs.Count(pair => pair.OnOtherPiece));
    }

    [Fact]
    public void On_a_click_with_a_recording_delay_every_stroke_is_found_and_the_delay_stays_in_the_times()
    {
        Pulse click = Pulse.Steady(Meter.FourFour, ChangedTake.Passage.Pulse.MeanTempo, AudioTime.FromSeconds(2), 32);
        List<Hit> hits = ChangedTake.Play(2, 9, Dials.AsPlayed with { Tempo = 0 }, startMs: 2040);
        AlignedTake take = TakeAligner.Align(ChangedTake.Passage, hits, click);
        Assert.Equal(hits.Count, take.Pairs.Count);
        Assert.Equal(PulseSource.Click, take.Performance.Pulse.Source);
    }

    [Fact]
    public void Another_groove_is_refused_in_plain_words()
    {
        Performance waltz = Waltz();
        InputException refused = Assert.Throws<InputException>(() => TakeAligner.Align(waltz, ChangedTake.Play(1, 3)));
        Assert.Contains("does not play the passage", refused.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(0)]
    [InlineData(1)]
    [InlineData(3)]
    public void Too_few_strokes_are_refused(int strokes) =>
        Assert.Throws<InputException>(() => TakeAligner.Align(ChangedTake.Passage, [.. ChangedTake.Play(1, 3).Take(strokes)]));

    private static Performance Waltz()
    {
        Pulse pulse = Pulse.Steady(new Meter(3, 4), Bpm.Of(171), AudioTime.Zero, 24);
        IEnumerable<Hit> hits = Enumerable.Range(0, 8).SelectMany(bar => new[] { (1, KitPiece.TomLow), (2, KitPiece.RideBell), (3, KitPiece.RideBell) }
            .Select(stroke => new BarPosition(bar + 1, stroke.Item1, Fraction.Zero) is var place
                ? new Hit(pulse.TimeAt(place), stroke.Item2, 80, Level.FromDbfs(-20), 1) { Position = place }
                : throw new InvalidOperationException()));
        return new Performance(pulse, hits);
    }
}
