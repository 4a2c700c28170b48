using Hindbeat.Listening;
using Hindbeat.Performances;
using Hindbeat.Units;
using static Hindbeat.Tests.Listening.StrokeTimes;

namespace Hindbeat.Tests.Listening;

/// <summary>The listener without a trained model.</summary>
public class SignalListenerTests : ListenerCases
{
    protected override double SnareByTheHat => Tolerance;

    protected override ListeningResult Heard(float[] samples, (AudioTime, AudioTime)? passage = null) => Take.Heard(samples, passage);

    protected override void AssertHats(ListeningResult groove)
    {
        AssertTimes(Eighths(_ => true), Take.Times(groove, KitPiece.HatClosed));
        Assert.Equal(groove.Hits.Count, groove.Hits.Count(hit => hit.Piece is KitPiece.Kick or KitPiece.Snare or KitPiece.HatClosed));
    }

    protected override void AssertHatsOfPassage(ListeningResult passage) =>
        AssertTimes([.. Enumerable.Range(8, 8).Select(i => 0.5 + (0.3 * i))], Take.Times(passage, KitPiece.HatClosed));

    [Fact]
    public void Hats_between_late_drums_stay_in_their_place()
    {
        double[] hats = Take.Times(Heard(Take.Groove(kickLate: 0.018, snareLate: 0.006)), KitPiece.HatClosed);
        AssertTimes(Eighths(i => i % 2 == 1), [.. hats.Where(time => Eighths(i => i % 2 == 1).Any(odd => Math.Abs(odd - time) < 0.05))]);
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
