using Hindbeat.Listening;
using Hindbeat.Performances;
using Hindbeat.Units;
using static Hindbeat.Tests.Listening.StrokeTimes;

namespace Hindbeat.Tests.Listening;

/// <summary>
/// What every listener must hear: known strokes in, the same strokes out. Truth is where the recorded strokes were laid (tests/data/strokes).
/// </summary>
public abstract class ListenerCases
{
    /// <summary>How far a snare struck 6 ms behind a hat may be off, seconds.</summary>
    protected abstract double SnareByTheHat { get; }

    protected abstract ListeningResult Heard(float[] samples, (AudioTime, AudioTime)? passage = null);

    /// <summary>A groove's hats are heard as well as this listener hears them.</summary>
    protected abstract void AssertHats(ListeningResult groove);

    private protected ListeningResult Heard(Take take, int shift = 0) => Heard(take.Samples(11, shift));

    [Fact]
    public void Kick_snare_and_hat_struck_together_are_each_heard_in_their_place()
    {
        ListeningResult heard = Heard(Take.Groove());
        AssertTimes(Eighths(i => i % 4 == 0), Take.Times(heard, KitPiece.Kick));
        AssertTimes(Eighths(i => i % 4 == 2), Take.Times(heard, KitPiece.Snare));
        AssertHats(heard);
    }

    [Fact]
    public void A_kick_that_lies_18_ms_behind_the_hat_is_timed_18_ms_behind()
    {
        ListeningResult heard = Heard(Take.Groove(kickLate: 0.018, snareLate: 0.006));
        AssertTimes([.. Eighths(i => i % 4 == 0).Select(time => time + 0.018)], Take.Times(heard, KitPiece.Kick));
        AssertTimes([.. Eighths(i => i % 4 == 2).Select(time => time + 0.006)], Take.Times(heard, KitPiece.Snare), SnareByTheHat);
    }

    [Fact]
    public void A_quieter_recording_has_the_same_strokes_at_the_same_times_and_lower_levels()
    {
        float[] loud = Take.Groove().Samples(11);
        ListeningResult a = Heard(loud);
        ListeningResult b = Heard([.. loud.Select(sample => sample * 0.1f)]);
        Assert.Equal(a.Hits.Select(hit => (hit.Piece, hit.Velocity)), b.Hits.Select(hit => (hit.Piece, hit.Velocity)));
        foreach ((Hit x, Hit y) in a.Hits.Zip(b.Hits))
        {
            Assert.Equal(x.Time.TotalSeconds, y.Time.TotalSeconds, 1e-4);
            Assert.Equal(-20, y.Level.Dbfs - x.Level.Dbfs, 0.05);
        }
    }

    [Fact]
    public void Soft_snares_between_backbeats_are_ghosts_and_rank_below_them()
    {
        Take take = Take.Groove();
        for (int bar = 0; bar < 4; bar++)
            take.With(0.5 + (2.4 * bar) + 0.975, "snare-soft", 0.6f);
        Hit[] snares = [.. Heard(take).Hits.Where(hit => hit.Piece == KitPiece.Snare)];
        Hit[] ghosts = [.. snares.Where(hit => hit.Marks.HasFlag(HitMarks.Ghost))];
        AssertTimes([1.475, 3.875, 6.275, 8.675], [.. ghosts.Select(hit => hit.Time.TotalSeconds)]);
        Assert.Equal(12, snares.Length);
        Assert.True(ghosts.Max(hit => hit.Velocity) < snares.Except(ghosts).Min(hit => hit.Velocity));
    }

    [Fact]
    public void Only_the_passage_is_heard_and_its_times_stay_those_of_the_recording()
    {
        ListeningResult heard = Heard(Take.Groove().Samples(11), (AudioTime.FromSeconds(2.85), AudioTime.FromSeconds(5.25)));
        AssertTimes([2.9, 4.1], Take.Times(heard, KitPiece.Kick));
        AssertTimes([3.5, 4.7], Take.Times(heard, KitPiece.Snare));
        AssertHatsOfPassage(heard);
    }

    /// <summary>The hats of the passage's eight eighths; heard like those of the whole.</summary>
    protected virtual void AssertHatsOfPassage(ListeningResult passage)
    {
    }
}
