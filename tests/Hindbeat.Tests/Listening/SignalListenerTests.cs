using Hindbeat.Listening;
using Hindbeat.Performances;
using Hindbeat.Units;
using static Hindbeat.Tests.Listening.StrokeTimes;

namespace Hindbeat.Tests.Listening;

/// <summary>Known strokes in, the same strokes out. Truth is where the recorded strokes were laid.</summary>
public class SignalListenerTests
{
    [Fact]
    public void Kick_snare_and_hat_struck_together_are_each_heard_in_their_place()
    {
        ListeningResult heard = Take.Groove().Heard(11);
        AssertTimes(Eighths(i => i % 4 == 0), Take.Times(heard, KitPiece.Kick));
        AssertTimes(Eighths(i => i % 4 == 2), Take.Times(heard, KitPiece.Snare));
        AssertTimes(Eighths(_ => true), Take.Times(heard, KitPiece.HatClosed));
        Assert.Equal(heard.Hits.Count, heard.Hits.Count(hit => hit.Piece is KitPiece.Kick or KitPiece.Snare or KitPiece.HatClosed));
    }

    [Fact]
    public void A_kick_that_lies_18_ms_behind_the_hat_is_timed_18_ms_behind()
    {
        ListeningResult heard = Take.Groove(kickLate: 0.018, snareLate: 0.006).Heard(11);
        AssertTimes([.. Eighths(i => i % 4 == 0).Select(time => time + 0.018)], Take.Times(heard, KitPiece.Kick));
        AssertTimes([.. Eighths(i => i % 4 == 2).Select(time => time + 0.006)], Take.Times(heard, KitPiece.Snare));
        AssertTimes(Eighths(i => i % 2 == 1), [.. Take.Times(heard, KitPiece.HatClosed).Where(time => Eighths(i => i % 2 == 1).Any(odd => Math.Abs(odd - time) < 0.05))]);
    }

    [Theory]
    [InlineData(1)]
    [InlineData(97)]
    [InlineData(128)]
    [InlineData(1000)]
    public void Shifting_the_sound_by_any_number_of_samples_shifts_every_hit_by_as_much(int shift)
    {
        ListeningResult still = Take.Groove().Heard(11);
        ListeningResult moved = Take.Groove().Heard(11, shift);
        Assert.Equal(still.Hits.Select(hit => hit.Piece), moved.Hits.Select(hit => hit.Piece));
        foreach ((Hit a, Hit b) in still.Hits.Zip(moved.Hits))
            Assert.Equal(shift / 44100.0, (b.Time - a.Time).Value, 0.0003);
    }

    [Fact]
    public void A_quieter_recording_has_the_same_strokes_at_the_same_times_and_lower_levels()
    {
        float[] loud = Take.Groove().Samples(11);
        ListeningResult a = Take.Heard(loud);
        ListeningResult b = Take.Heard([.. loud.Select(sample => sample * 0.1f)]);
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
        ListeningResult heard = take.Heard(11);
        Hit[] snares = [.. heard.Hits.Where(hit => hit.Piece == KitPiece.Snare)];
        Hit[] ghosts = [.. snares.Where(hit => hit.Marks.HasFlag(HitMarks.Ghost))];
        AssertTimes([1.475, 3.875, 6.275, 8.675], [.. ghosts.Select(hit => hit.Time.TotalSeconds)]);
        Assert.Equal(12, snares.Length);
        Assert.True(ghosts.Max(hit => hit.Velocity) < snares.Except(ghosts).Min(hit => hit.Velocity));
    }

    [Fact]
    public void A_grace_stroke_30_ms_before_a_snare_makes_it_a_flam_timed_at_the_main_stroke()
    {
        Take take = Take.Groove();
        take.With(0.5 + (0.3 * 10) - 0.030, "snare-soft", 1.5f);
        ListeningResult heard = take.Heard(11);
        Hit flam = Assert.Single(heard.Hits, hit => hit.Marks.HasFlag(HitMarks.Flam));
        Assert.Equal(KitPiece.Snare, flam.Piece);
        Assert.Equal(3.5, flam.Time.TotalSeconds, StrokeTimes.Tolerance);
        Assert.Equal(8, heard.Hits.Count(hit => hit.Piece == KitPiece.Snare));
    }

    [Fact]
    public void Open_hats_among_closed_ones_and_a_crash_are_told_by_how_they_sound_on()
    {
        Take take = new();
        for (int eighth = 0; eighth < 32; eighth++)
        {
            double time = 0.5 + (0.3 * eighth);
            take.With(time, eighth == 0 ? "crash" : eighth % 8 == 7 ? "hat-open" : "hat-closed");
            if (eighth % 4 == 0)
                take.With(time, "kick");
        }

        ListeningResult heard = take.Heard(11);
        AssertTimes([0.5], Take.Times(heard, KitPiece.Crash));
        AssertTimes(Eighths(i => i % 8 == 7), Take.Times(heard, KitPiece.HatOpen));
    }

    [Fact]
    public void Time_kept_on_the_ride_is_heard_as_ride()
    {
        Take take = new();
        for (int eighth = 0; eighth < 32; eighth++)
        {
            take.With(0.5 + (0.3 * eighth), "ride", 2);
            if (eighth % 4 == 0)
                take.With(0.5 + (0.3 * eighth), "kick");
        }

        AssertTimes(Eighths(_ => true), Take.Times(take.Heard(11), KitPiece.Ride));
    }

    [Fact]
    public void Only_the_passage_is_heard_and_its_times_stay_those_of_the_recording()
    {
        ListeningResult heard = Take.Heard(Take.Groove().Samples(11), (AudioTime.FromSeconds(2.85), AudioTime.FromSeconds(5.25)));
        AssertTimes([2.9, 4.1], Take.Times(heard, KitPiece.Kick));
        AssertTimes([3.5, 4.7], Take.Times(heard, KitPiece.Snare));
        AssertTimes([.. Enumerable.Range(8, 8).Select(i => 0.5 + (0.3 * i))], Take.Times(heard, KitPiece.HatClosed));
    }

    [Fact]
    public void A_passage_that_starts_while_a_crash_rings_hears_no_stroke_at_its_start()
    {
        Take take = Take.Groove().With(2.9, "crash", 1.5f);
        ListeningResult heard = Take.Heard(take.Samples(11), (AudioTime.FromSeconds(3.05), AudioTime.FromSeconds(8)));
        // The hat at 3.2 s is half hidden by the crash; the snare at 3.5 s is not.
        Assert.InRange(heard.Hits[0].Time.TotalSeconds, 3.15, 3.501);
    }

    [Fact]
    public void Onset_strength_peaks_where_strokes_are_and_carries_its_own_clock()
    {
        OnsetStrength strength = Take.Groove().Heard(11).Strength;
        float[] sum = [.. Enumerable.Range(0, strength.Frames).Select(i => strength.Bands.Sum(band => band[i]))];
        int loudest = Array.IndexOf(sum, sum.Max());
        double time = strength.Start.TotalSeconds + (loudest / strength.FrameRate);
        Assert.Contains(Eighths(_ => true), stroke => Math.Abs(stroke - time) < 0.015);
        Assert.All(strength.Bands, band => Assert.True(band.Min() >= 0));
    }
}
