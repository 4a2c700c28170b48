using Hindbeat.Listening;
using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;
using static Hindbeat.Tests.Listening.StrokeTimes;

namespace Hindbeat.Tests.Listening;

/// <summary>Known strokes in, the same strokes out. Truth is where the recorded strokes were laid (tests/data/strokes).</summary>
public class LearnedListenerTests
{
    private static ListeningResult Heard(Take take, int shift = 0) => Heard(take.Samples(11, shift));

    private static ListeningResult Heard(float[] samples, (AudioTime, AudioTime)? passage = null)
    {
        using MonoSound sound = MonoSound.FromSamples(samples);
        IListener listener = LearnedListener.OrSignal();
        Assert.StartsWith("learned", listener.Name, StringComparison.Ordinal);
        return listener.Listen(sound, passage);
    }

    [Fact]
    public void Kick_snare_and_hat_struck_together_are_each_heard_in_their_place()
    {
        ListeningResult heard = Heard(Take.Groove());
        AssertTimes(Eighths(i => i % 4 == 0), Take.Times(heard, KitPiece.Kick));
        AssertTimes(Eighths(i => i % 4 == 2), Take.Times(heard, KitPiece.Snare));
        Assert.Equal(32 + 16, heard.Hits.Count(hit => hit.Piece is KitPiece.Kick or KitPiece.Snare || hit.Piece.Family() == PieceFamily.Hat));
    }

    [Fact]
    public void A_kick_that_lies_18_ms_behind_the_hat_is_timed_18_ms_behind()
    {
        ListeningResult heard = Heard(Take.Groove(kickLate: 0.018, snareLate: 0.006));
        AssertTimes([.. Eighths(i => i % 4 == 0).Select(time => time + 0.018)], Take.Times(heard, KitPiece.Kick));
        AssertTimes([.. Eighths(i => i % 4 == 2).Select(time => time + 0.006)], Take.Times(heard, KitPiece.Snare), 0.0015);
    }

    [Theory]
    [InlineData(1)]
    [InlineData(128)]
    [InlineData(220)]
    public void Shifting_the_sound_by_any_number_of_samples_shifts_every_drum_by_as_much(int shift)
    {
        ListeningResult still = Heard(Take.Groove());
        ListeningResult moved = Heard(Take.Groove(), shift);
        foreach (KitPiece piece in (KitPiece[])[KitPiece.Kick, KitPiece.Snare])
        {
            double[] a = Take.Times(still, piece);
            double[] b = Take.Times(moved, piece);
            AssertTimes([.. a.Select(time => time + (shift / 44100.0))], b, 0.0005);
        }
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
        ListeningResult heard = Heard(take);
        Hit[] snares = [.. heard.Hits.Where(hit => hit.Piece == KitPiece.Snare)];
        Hit[] ghosts = [.. snares.Where(hit => hit.Marks.HasFlag(HitMarks.Ghost))];
        AssertTimes([1.475, 3.875, 6.275, 8.675], [.. ghosts.Select(hit => hit.Time.TotalSeconds)]);
        Assert.True(ghosts.Max(hit => hit.Velocity) < snares.Except(ghosts).Min(hit => hit.Velocity));
    }

    [Fact]
    public void Only_the_passage_is_heard_and_its_times_stay_those_of_the_recording()
    {
        ListeningResult heard = Heard(Take.Groove().Samples(11), (AudioTime.FromSeconds(2.85), AudioTime.FromSeconds(5.25)));
        AssertTimes([2.9, 4.1], Take.Times(heard, KitPiece.Kick));
        AssertTimes([3.5, 4.7], Take.Times(heard, KitPiece.Snare));
    }

    [Fact]
    public void A_passage_shorter_than_a_window_and_one_longer_than_two_are_heard_alike()
    {
        // 11 s are two windows of 6 s that overlap; each of these passages is one.
        float[] samples = Take.Groove().Samples(11);
        double[] whole = Take.Times(Heard(samples), KitPiece.Snare);
        foreach (double from in (double[])[0.2, 4.2])
        {
            double[] part = Take.Times(Heard(samples, (AudioTime.FromSeconds(from), AudioTime.FromSeconds(from + 4))), KitPiece.Snare);
            AssertTimes([.. whole.Where(time => time >= from && time < from + 4)], part, 0.0005);
        }
    }

    [Fact]
    public void Silence_and_noise_are_refused()
    {
        Assert.Throws<InputException>(() => Heard(new float[44100 * 3]));
        Random random = new(3);
        Assert.Throws<InputException>(() => Heard([.. Enumerable.Range(0, 44100 * 4).Select(_ => 0.1f * (random.NextSingle() - 0.5f))]));
    }

    [Fact]
    public void Without_its_model_the_signal_listener_hears_and_says_so()
    {
        IListener listener = LearnedListener.OrSignal((null, "this build holds no trained model"));
        Assert.Equal(new SignalListener().Name, listener.Name);
        using MonoSound sound = MonoSound.FromSamples(Take.Groove().Samples(11));
        ListeningResult heard = listener.Listen(sound);
        AssertTimes(Eighths(i => i % 4 == 0), Take.Times(heard, KitPiece.Kick), 0.003);
        HeardWithoutModel doubt = Assert.Single(heard.Doubts.OfType<HeardWithoutModel>());
        Assert.Contains("this build holds no trained model", doubt.Text, StringComparison.Ordinal);
    }
}
